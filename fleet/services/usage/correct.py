"""A wrong entry is never changed: a counter-entry names it and takes back everything it counted."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment
from fleet.errors import Conflict, NotFound, invalid
from fleet.models import DIMENSIONS, Aircraft, Membership, Role, UsageEntry
from fleet.models.usage import LAUNCH_KINDS
from fleet.permissions import require_role
from fleet.services.usage import totals
from fleet.services.usage.entries import Recorded, conclude

CORRECTORS = frozenset({Role.TECHNICAL_OFFICER})
COPIED = ("aircraft_id", "flown_on", "takeoff_at", "landing_at")  # so that it falls where the entry fell


@transaction.atomic
def correct(
    *, entry_id: UUID, by: Membership, at: datetime, remark: str, correction_id: UUID | None = None
) -> Recorded:
    """Reverse an entry. Without an opening balance the usage of the aircraft is unknown until there is a new one.

    Raises NotFound, Forbidden, Invalid (no remark), Conflict (a correction, or corrected already).
    """
    require_role(by, CORRECTORS, "correct usage")
    if not remark.strip():
        raise invalid("/remark", "required", "Say why the entry is corrected.")
    aircraft, entry = _locked(entry_id, by=by, at=at)
    _refuse_second(entry)
    counter = _counter_entry(entry, by=by, at=at, remark=remark, correction_id=correction_id)
    counter.save(force_insert=True)
    total = totals.rebuild(aircraft)
    data = {"corrects": entry.id, "source": entry.source, "recorded_at": entry.recorded_at}
    verdict = conclude(aircraft, [counter], kind="usage_correct", by=by, at=at, data=data)
    return Recorded(entries=(counter,), total=total, verdict=verdict)


def _locked(entry_id: UUID, *, by: Membership, at: datetime) -> tuple[Aircraft, UsageEntry]:
    named = UsageEntry.objects.filter(id=entry_id, aircraft__club_id=by.club_id).first()
    if named is None:
        raise NotFound("usage_entry_not_found", "There is no such usage entry in your club.")
    aircraft = assessment.lock(named.aircraft_id, club_id=by.club_id, at=at)
    return aircraft, UsageEntry.objects.select_related("corrected_by").get(id=entry_id)


def _refuse_second(entry: UsageEntry) -> None:
    if entry.corrects_id is not None:
        detail = "This is a correction itself. Record anew what it took back by mistake."
        raise Conflict("is_correction", detail, {"corrects": entry.corrects_id})
    done = getattr(entry, "corrected_by", None)
    if done is not None:
        raise Conflict("corrected", "This entry is corrected already.", {"corrected_by": done.id})


def _counter_entry(
    entry: UsageEntry, *, by: Membership, at: datetime, remark: str, correction_id: UUID | None
) -> UsageEntry:
    return UsageEntry(
        id=correction_id or uuid4(),
        source=UsageEntry.Source.CORRECTION,
        corrects=entry,
        remark=remark,
        recorded_by=by,
        recorded_at=at,
        **{name: getattr(entry, name) for name in COPIED},
        **{name: -getattr(entry, name) for name in (*DIMENSIONS, *LAUNCH_KINDS)},
    )
