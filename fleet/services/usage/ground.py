"""What lines of usage are checked against."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Max, Min, Q

from fleet.models import Aircraft, UsageEntry
from fleet.services.instants import CLOCK_SKEW
from fleet.services.usage.lines import Line

OPENING = UsageEntry.Source.OPENING
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What lines are checked against. ``entries``: those that count, around the days of the lines."""

    time_zone: str
    at: datetime
    source: str
    opening: bool
    opened_on: date | None
    first_on: date | None
    entries: Sequence[UsageEntry]
    latest: datetime = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "latest", self.at + CLOCK_SKEW)


def counting_entries(aircraft_id: UUID) -> Q:
    """Entries of an aircraft that are neither corrected nor corrections."""
    return Q(aircraft_id=aircraft_id, corrects=None, corrected_by=None)


def ground(aircraft: Aircraft, lines: Sequence[Line], *, source: str, at: datetime) -> Ground:
    """Read what the lines are checked against; two queries."""
    rows = UsageEntry.objects.filter(counting_entries(aircraft.id))
    ends = rows.aggregate(
        opened_on=Max("flown_on", filter=Q(source=OPENING)), first_on=Min("flown_on", filter=~Q(source=OPENING))
    )
    days = [line.flown_on for line in lines if line.flown_on is not None]
    near = rows.filter(flown_on__range=(_before(min(days)), _after(max(days)))).exclude(source=OPENING) if days else ()
    return Ground(
        time_zone=aircraft.club.time_zone, at=at, source=source, opening=source == OPENING, entries=list(near), **ends
    )


def _before(day: date) -> date:
    return day - DAY if day > date.min else day


def _after(day: date) -> date:
    return day + DAY if day < date.max else day
