"""Instants relative to now, in the time zone of a club."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fleet.airworthiness.flying_day import edges, flying_day

MORNING = timedelta(hours=10)  # everything planned for today lies before this


@dataclass(frozen=True, slots=True)
class Days:
    """The calendar of the demo. ``now`` is aware."""

    now: datetime
    time_zone: str

    @property
    def today(self) -> date:
        """The flying day of now."""
        return flying_day(self.now, self.time_zone)

    def day(self, ahead: int) -> date:
        """So many days after today; negative: before."""
        return self.today + timedelta(days=ahead)

    def ago(self, days: int, clock: str) -> datetime:
        """A local time of an earlier day (by day: between midnight and 4 o'clock clocks may change)."""
        local = datetime.combine(self.day(-days), time.fromisoformat(clock), tzinfo=ZoneInfo(self.time_zone))
        return local.astimezone(UTC)

    def this_morning(self, clock: str) -> datetime:
        """About this time today, and never after now: early in the day the morning's plan is pressed together."""
        begin, _end = edges(self.now, self.time_zone)
        wanted = time.fromisoformat(clock)
        planned = timedelta(hours=wanted.hour, minutes=wanted.minute)
        return begin + planned * min(1.0, (self.now - begin) / MORNING)

    def begun(self, finished_at: datetime, duration: timedelta) -> datetime:
        """When something of this duration began, on the same flying day."""
        begin, _end = edges(finished_at, self.time_zone)
        return max(begin, finished_at - duration)
