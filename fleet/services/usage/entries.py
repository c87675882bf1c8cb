"""Recording usage: all lines or none, the total with them, and the aircraft judged anew; one transaction."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from typing import Any
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.db import transaction

from fleet import assessment, life
from fleet.airworthiness.verdict import Verdict
from fleet.errors import invalid
from fleet.events import Entry, canonical_json, digest
from fleet.models import DIMENSIONS, Aircraft, Membership, Role, UsageEntry, UsageTotal
from fleet.permissions import WALKERS, require_role
from fleet.services.usage import totals
from fleet.services.usage.check import LinesRefused, problems
from fleet.services.usage.ground import ground
from fleet.services.usage.lines import COUNTED, Line, settled

OPENERS = frozenset({Role.TECHNICAL_OFFICER})
TOLD = ("id", "flown_on", "takeoff_at", "landing_at", *COUNTED, "reference", "remark")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What was recorded, the total after it (None: not known), and the verdict as it will be committed."""

    entries: tuple[UsageEntry, ...]
    total: UsageTotal | None
    verdict: Verdict


def require_recorder(by: Membership, source: str) -> None:
    """Opening balances are the technical officer's."""
    if source == UsageEntry.Source.OPENING:
        require_role(by, OPENERS, "record an opening balance")
    require_role(by, WALKERS, "record usage")


@transaction.atomic
def record(*, aircraft_id: UUID, by: Membership, at: datetime, lines: Sequence[Line], source: str) -> Recorded:
    """Record usage. The opening balance is what had been flown when its day began, zero for a new aircraft.

    Raises NotFound, Forbidden, LinesRefused with every problem of every line. A constant number of queries.
    """
    require_recorder(by, source)
    if not lines:
        raise invalid("/entries", "required", "Send at least one entry.")
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    complete = [settled(line, aircraft.club.time_zone) for line in lines]
    found = problems(complete, ground(aircraft, complete, source=source, at=at))
    if found:
        raise LinesRefused(found)
    return write(aircraft, complete, by=by, at=at, source=source)


def write(aircraft: Aircraft, lines: Sequence[Line], *, by: Membership, at: datetime, source: str) -> Recorded:
    """Store settled lines without a problem for a locked aircraft, count them and conclude."""
    entries = UsageEntry.objects.bulk_create(_entry(aircraft, line, by, at, source) for line in lines)
    total = totals.add(aircraft, entries)
    verdict = conclude(aircraft, entries, kind="usage_record", by=by, at=at, data={"source": source})
    return Recorded(entries=tuple(entries), total=total, verdict=verdict)


def _entry(aircraft: Aircraft, line: Line, by: Membership, at: datetime, source: str) -> UsageEntry:
    values = asdict(line)
    del values["place"]
    values |= {"id": line.id or uuid4(), "launches": line.launches}
    return UsageEntry(aircraft=aircraft, source=source, recorded_by=by, recorded_at=at, **values)


def conclude(
    aircraft: Aircraft,
    entries: Sequence[UsageEntry],
    *,
    kind: str,
    by: Membership,
    at: datetime,
    data: Mapping[str, Any],
) -> Verdict:
    """Record the act and judge anew. A single entry is told in full, of many the sums and a digest over all of them."""
    sums = {name: sum(getattr(entry, name) for entry in entries) for name in DIMENSIONS}
    days = sorted(entry.flown_on for entry in entries)
    told = [{name: getattr(entry, name) for name in TOLD} for entry in entries]
    alone = len(entries) == 1
    content = told[0] if alone else {"entries_sha256": digest(canonical_json(told))}
    event = Entry(
        kind=kind,
        at=at,
        by=by,
        subject_type="usage_entry" if alone else "aircraft",
        subject_id=entries[0].id if alone else aircraft.id,
        data={**content, **sums, "entries": len(entries), "from_on": days[0], "to_on": days[-1], **data},
    )
    verdict = assessment.conclude([aircraft], at=at, entries={aircraft.id: [event]})[aircraft.id]
    _conclude_elsewhere(aircraft, days[0], by=by, at=at)
    return verdict


def _conclude_elsewhere(aircraft: Aircraft, since: date, *, by: Membership, at: datetime) -> None:
    """What was entered late may have been flown by a component that is in another aircraft now."""
    begins = datetime.combine(since, time(), ZoneInfo(aircraft.club.time_zone))
    concerned = life.touched_by(aircraft.id, begins) - {aircraft.id}
    if not concerned:
        return
    fleet = assessment.lock_many(Aircraft.objects.filter(id__in=concerned), at=at)
    data = {"flown_with": aircraft.registration, "from_on": since}
    entries = {one.id: [_life_change(one, by, at, data)] for one in fleet}
    assessment.conclude(fleet, at=at, entries=entries)


def _life_change(aircraft: Aircraft, by: Membership, at: datetime, data: Mapping[str, Any]) -> Entry:
    return Entry(kind="component_life_change", at=at, by=by, subject_type="aircraft", subject_id=aircraft.id, data=data)
