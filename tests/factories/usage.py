"""Usage: an opening balance, and flying after it."""

from datetime import date, datetime
from typing import Any

from fleet.models import Aircraft, Membership, Role
from fleet.services import usage
from fleet.services.usage import Line, Recorded
from tests.factories.clubs import member_of
from tests.factories.constants import FOUNDED, NOW

OPENED_ON = date(2025, 1, 1)


def opened(
    aircraft: Aircraft, *, minutes: int = 60_000, launches: int = 2_000, on: date = OPENED_ON, at: datetime = FOUNDED
) -> Recorded:
    """The opening balance of an aircraft, by the technical officer."""
    by = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    line = Line(flown_on=on, airframe_minutes=minutes, winch_launches=launches)
    return usage.record(aircraft_id=aircraft.id, by=by, at=at, lines=[line], source="opening")


def flown(aircraft: Aircraft, *lines: Line, at: datetime = NOW, by: Membership | None = None, **line: Any) -> Recorded:
    """Flying recorded by a pilot: the lines, or one of these fields (a winch launch of ten minutes on the day of ``at``)."""
    recorder = by or member_of(aircraft.club, Role.PILOT)
    one = {"airframe_minutes": 10, "winch_launches": 1} | line
    if "takeoff_at" not in one:
        one.setdefault("flown_on", at.date())
    listed = lines or (Line(**one),)
    return usage.record(aircraft_id=aircraft.id, by=recorder, at=at, lines=listed, source="manual")


def taken_back(recorded: Recorded, *, at: datetime = NOW, remark: str = "Entered twice.") -> Recorded:
    """The correction of an entry, by the technical officer."""
    entry = recorded.entries[0]
    by = member_of(entry.aircraft.club, Role.TECHNICAL_OFFICER)
    return usage.correct(entry_id=entry.id, by=by, at=at, remark=remark)
