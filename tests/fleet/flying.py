"""What aircraft flew, written as rows of the usage record."""

from datetime import date, datetime, timedelta
from typing import Any

from fleet.models import Aircraft, UsageEntry
from fleet.models.usage import DIMENSIONS
from tests.factories import FOUNDED, member_of


def _entry(aircraft: Aircraft, **fields: Any) -> UsageEntry:
    launches = fields.pop("launches", 0)
    said = {"source": "manual", "recorded_at": FOUNDED, "recorded_by": member_of(aircraft.club, "pilot")} | fields
    return UsageEntry.objects.create(aircraft=aircraft, launches=launches, winch_launches=launches, **said)


def opened(aircraft: Aircraft, on: date = date(2025, 1, 1), **amounts: Any) -> UsageEntry:
    """The opening balance: what had been flown when that day began."""
    return _entry(aircraft, source="opening", flown_on=on, **amounts)


def flown(aircraft: Aircraft, takeoff_at: datetime, minutes: int, **fields: Any) -> UsageEntry:
    """A flight of one launch."""
    said = {"launches": 1, "landings": 1, "recorded_at": takeoff_at + timedelta(minutes=minutes)} | fields
    landing_at = takeoff_at + timedelta(minutes=minutes)
    day = takeoff_at.date()  # tests fly by day, when the date is the same in the club's zone
    return _entry(
        aircraft, takeoff_at=takeoff_at, landing_at=landing_at, flown_on=day, airframe_minutes=minutes, **said
    )


def day_flown(aircraft: Aircraft, on: date, minutes: int, *, recorded_at: datetime, **fields: Any) -> UsageEntry:
    """A line of a day without times."""
    return _entry(
        aircraft,
        flown_on=on,
        airframe_minutes=minutes,
        recorded_at=recorded_at,
        **({"launches": 1, "landings": 1} | fields),
    )


def taken_back(entry: UsageEntry, *, recorded_at: datetime) -> UsageEntry:
    """The counter-entry."""
    amounts = {name: -getattr(entry, name) for name in DIMENSIONS}
    copied = {name: getattr(entry, name) for name in ("flown_on", "takeoff_at", "landing_at")}
    return _entry(entry.aircraft, source="correction", corrects=entry, recorded_at=recorded_at, **copied, **amounts)
