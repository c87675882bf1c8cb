"""Reporting: anybody who finds something writes it down, and the aircraft is judged at once."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max

from defects.lifecycle import CLOSED_STATES, WRITERS
from defects.models import Defect, FoundDuring
from defects.permissions import is_critical
from defects.services.acting import Acted
from fleet import assessment
from fleet.airworthiness.limits import occurrence_report_deadline
from fleet.errors import invalid
from fleet.events import Entry
from fleet.models import Aircraft, Item, Membership
from fleet.permissions import require_role
from fleet.services.instants import require_past


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What was found. ``item`` None: "I don't know which"; ``occurrence``: the finder holds it reportable."""

    description: str
    found_at: datetime
    found_during: str
    item: Item | None
    damage_kind: str = ""
    size_mm: Decimal | None = None
    position: str = ""
    occurrence: bool = False
    follows: Defect | None = None
    id: UUID = field(default_factory=uuid4)


def _defect(aircraft: Aircraft, number: int, finding: Finding, by: Membership, at: datetime) -> Defect:
    return Defect(
        id=finding.id,
        aircraft=aircraft,
        number=number,
        item=finding.item,
        description=finding.description,
        damage_kind=finding.damage_kind,
        size_mm=finding.size_mm,
        position=finding.position,
        found_at=finding.found_at,
        found_during=finding.found_during,
        reported_by=by,
        reported_at=at,
        follows=finding.follows,
        touched_critical_at=at if is_critical(finding.item) else None,
        report_due_at=occurrence_report_deadline(at) if finding.occurrence else None,
    )


def _entry(defect: Defect, by: Membership, at: datetime) -> Entry:
    return Entry(
        kind="defect_report",
        at=at,
        by=by,
        subject_type="defect",
        subject_id=defect.id,
        data={
            "number": defect.number,
            "state": defect.state,
            "item": defect.item.code if defect.item else None,
            "description": defect.description,
            "damage_kind": defect.damage_kind,
            "size_mm": defect.size_mm,
            "position": defect.position,
            "found_at": defect.found_at,
            "found_during": defect.found_during,
            "occurrence": defect.report_due_at is not None,
            "follows": defect.follows_id,
        },
    )


def add(
    aircraft: Aircraft, findings: Sequence[Finding], *, by: Membership, at: datetime
) -> tuple[list[Defect], list[Entry]]:
    """Create reported defects on a locked aircraft: two statements for any number. The caller concludes."""
    if not findings:
        return [], []
    last = Defect.objects.filter(aircraft=aircraft).aggregate(last=Max("number"))["last"] or 0
    defects = [_defect(aircraft, last + n, finding, by, at) for n, finding in enumerate(findings, start=1)]
    Defect.objects.bulk_create(defects)
    return defects, [_entry(defect, by, at) for defect in defects]


def item_of(aircraft: Aircraft, code: str | None) -> Item | None:
    """The item of the aircraft's type with this code; None for "I don't know"."""
    if code is None:
        return None
    item = Item.objects.filter(aircraft_type_id=aircraft.aircraft_type_id, code=code).first()
    if item is None:
        raise invalid(
            "/item",
            "unknown_item",
            f"This aircraft's type has no item {code!r}. Leave it out if you do not know which.",
        )
    return item


def _followed(aircraft: Aircraft, defect_id: UUID | None) -> Defect | None:
    if defect_id is None:
        return None
    followed = Defect.objects.filter(aircraft=aircraft, id=defect_id, state__in=CLOSED_STATES).first()
    if followed is None:
        raise invalid("/follows", "not_closed", "This names no closed defect of this aircraft.")
    return followed


@transaction.atomic
def report(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    description: str,
    found_at: datetime,
    found_during: str = FoundDuring.OTHER,
    item_code: str | None = None,
    damage_kind: str = "",
    size_mm: Decimal | None = None,
    position: str = "",
    occurrence: bool = False,
    follows: UUID | None = None,
    defect_id: UUID | None = None,
) -> Acted:
    """Report a defect. By any member who may write; the status is committed with it.

    Raises NotFound, Forbidden, Invalid.
    """
    require_role(by, WRITERS, "report a defect")
    require_past(at=at, found_at=found_at)
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    finding = Finding(
        id=defect_id or uuid4(),
        item=item_of(aircraft, item_code),
        description=description,
        found_at=found_at,
        found_during=found_during,
        damage_kind=damage_kind,
        size_mm=size_mm,
        position=position,
        occurrence=occurrence,
        follows=_followed(aircraft, follows),
    )
    (defect,), entries = add(aircraft, [finding], by=by, at=at)
    verdict = assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]
    return Acted(defect=defect, verdict=verdict)
