"""Flying days: civil dates in the club's time zone, as half-open spans of instants that follow each other."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fleet.airworthiness.limits import end_of_day


def flying_day(instant: datetime, time_zone: str) -> date:
    """The flying day to which an aware instant belongs. Raises for a naive instant or an unknown time zone."""
    if instant.utcoffset() is None:
        # astimezone() would silently read it in the time zone of the machine
        raise ValueError("The instant has no time zone: give one with an offset.")
    day = instant.astimezone(ZoneInfo(time_zone)).date()
    # Clocks put back shortly after midnight show the old date again: the day that has ended stays ended.
    return day if instant < end_of_day(day, time_zone) else day + timedelta(days=1)


def edges(instant: datetime, time_zone: str) -> tuple[datetime, datetime]:
    """First instant of the flying day of ``instant``, and the first instant after it, in UTC."""
    day = flying_day(instant, time_zone)
    return end_of_day(day - timedelta(days=1), time_zone), end_of_day(day, time_zone)
