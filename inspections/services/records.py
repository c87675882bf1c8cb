"""Recording an inspection: judge every line, raise the defects, say what is missing, reassess; one transaction."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from defects.models import Defect, FoundDuring
from defects.services import reports
from defects.services.reports import Finding
from fleet import assessment
from fleet.airworthiness.verdict import Verdict
from fleet.errors import invalid
from fleet.events import Entry
from fleet.models import Aircraft, Membership, Privilege
from fleet.permissions import INSPECTORS, WALKERS, require_authorisation, require_role
from fleet.services.instants import require_order, require_past
from inspections import selectors
from inspections.models import (
    Inspection,
    InspectionKind,
    InspectionResult,
    Occurrence,
    Outcome,
    Sheet,
    SheetLine,
)
from inspections.services.lines import Judged, Sent, ballast_known, judge, missing_codes

INSPECTOR_KINDS = frozenset({InspectionKind.UNSCHEDULED, InspectionKind.PERIODIC})


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A stored inspection with the defects it raised and the verdict as it will be committed."""

    inspection: Inspection
    defects: tuple[Defect, ...]
    verdict: Verdict


def _seconds(by: Membership, ids: Sequence[UUID]) -> set[UUID]:
    """The named second persons, all of them active members of the club."""
    wanted = set(ids)
    found = set(Membership.objects.filter(club_id=by.club_id, active=True, id__in=wanted).values_list("id", flat=True))
    unknown = wanted - found
    if unknown:
        raise invalid(
            "/second_person",
            "unknown_member",
            "A second person must be an active member of your club.",
        )
    return found


def _occurrence(aircraft: Aircraft, kind: str, occurrence_id: UUID | None, started_at: datetime) -> Occurrence | None:
    if occurrence_id is None:
        return None
    if kind != InspectionKind.UNSCHEDULED:
        raise invalid(
            "/occurrence",
            "wrong_kind",
            "Only an unscheduled inspection answers an occurrence.",
        )
    occurrence = Occurrence.objects.filter(aircraft=aircraft, id=occurrence_id).first()
    if occurrence is None:
        raise invalid(
            "/occurrence",
            "unknown_occurrence",
            "This names no occurrence of this aircraft.",
        )
    require_order(earlier=("occurrence", occurrence.occurred_at), later=("started_at", started_at))
    return occurrence


def _require_who(by: Membership, aircraft: Aircraft, kind: str, at: datetime) -> None:
    if kind in INSPECTOR_KINDS:
        require_role(by, INSPECTORS, "make an unscheduled or periodic inspection")
        require_authorisation(by, aircraft, Privilege.RELEASE, at)
    require_role(by, WALKERS, "record an inspection")


def _finding(judged: Judged, completed_at: datetime) -> Finding:
    sent = judged.sent
    return Finding(
        item=judged.line.item,
        description=judged.defect_description(),
        found_at=completed_at,
        found_during=FoundDuring.WALKAROUND,
        damage_kind=sent.damage_kind,
        size_mm=sent.size_mm,
        position=sent.position,
    )


def _results(inspection: Inspection, judged: Sequence[Judged], defects: Mapping[UUID, Defect]) -> None:
    InspectionResult.objects.bulk_create(
        InspectionResult(
            inspection=inspection,
            line=one.line,
            outcome=one.outcome,
            value=one.value,
            sent_value=one.sent.value,
            sent_unit=one.sent.unit,
            remark=one.sent.remark,
            second_person_id=one.second_person,
            defect=defects.get(one.line.id),
        )
        for one in judged
    )


def _entry(
    inspection: Inspection,
    judged: Sequence[Judged],
    defects: Mapping[UUID, Defect],
    by: Membership,
    at: datetime,
) -> Entry:
    return Entry(
        kind=f"inspection_{inspection.kind}",
        at=at,
        by=by,
        subject_type="inspection",
        subject_id=inspection.id,
        data={
            "sheet": inspection.sheet_id,
            "occurrence": inspection.occurrence_id,
            "second_person": inspection.second_person_id,
            "started_at": inspection.started_at,
            "completed_at": inspection.completed_at,
            "complete": inspection.complete,
            "missing": inspection.missing,
            "results": [one.as_data(defects.get(one.line.id)) for one in judged],
        },
    )


def _lines(sheet: Sheet) -> list[SheetLine]:
    return list(SheetLine.objects.filter(sheet=sheet).select_related("item").order_by("position"))


def _second_of(judged: Sequence[Judged], *, inspector: UUID) -> UUID | None:
    """Whom the lines name first."""
    return next((one.second_person for one in judged if one.second_person not in (None, inspector)), None)


@transaction.atomic
def record(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    started_at: datetime,
    completed_at: datetime,
    results: Sequence[Sent],
    sheet_id: UUID | None = None,
    second_person: UUID | None = None,
    occurrence_id: UUID | None = None,
    inspection_id: UUID | None = None,
) -> Recorded:
    """Store an inspection. Incomplete ones are kept, say what is missing and clear nothing.

    A ``defect`` outcome, or a value outside its limits, raises a defect in the same transaction.
    Raises NotFound, Forbidden, Conflict (no sheet), Invalid.
    """
    require_past(at=at, started_at=started_at, completed_at=completed_at)
    require_order(earlier=("started_at", started_at), later=("completed_at", completed_at))
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    _require_who(by, aircraft, kind, at)
    sheet = selectors.sheet_for(aircraft.aircraft_type, kind, sheet_id)
    occurrence = _occurrence(aircraft, kind, occurrence_id, started_at)
    # a phone's clock that runs ahead must not place the inspection after what happens meanwhile: a rigging, work
    started_at, completed_at = min(started_at, at), min(completed_at, at)
    _seconds(
        by,
        [one for one in [second_person, *(sent.second_person for sent in results)] if one],
    )
    lines = _lines(sheet)
    judged = judge(lines, results, second_person=second_person)
    missing = missing_codes(lines, judged, inspector=by.id, second_person=second_person, kind=kind)
    inspection = Inspection.objects.create(
        id=inspection_id or uuid4(),
        aircraft=aircraft,
        kind=kind,
        sheet=sheet,
        occurrence=occurrence,
        inspected_by=by,
        second_person_id=second_person or _second_of(judged, inspector=by.id),
        started_at=started_at,
        completed_at=completed_at,
        recorded_at=at,
        complete=not missing,
        missing=missing,
        ballast_known=ballast_known(lines, judged),
    )
    faulty = [one for one in judged if one.outcome == Outcome.DEFECT]
    defects, entries = reports.add(aircraft, [_finding(one, completed_at) for one in faulty], by=by, at=at)
    by_line = {one.line.id: defect for one, defect in zip(faulty, defects, strict=True)}
    _results(inspection, judged, by_line)
    entries = [_entry(inspection, judged, by_line, by, at), *entries]
    verdict = assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]
    return Recorded(inspection=inspection, defects=tuple(defects), verdict=verdict)


__all__ = ["Recorded", "record"]
