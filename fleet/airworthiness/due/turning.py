"""When time alone changes a due state."""

from datetime import datetime, timedelta

from fleet.airworthiness.due.limit import CalendarLimit, Limits
from fleet.airworthiness.limits import end_of_day


def notice_opens_at(limit: CalendarLimit, time_zone: str) -> datetime:
    """First instant of the first day in the notice window."""
    return end_of_day(limit.notice_on - timedelta(days=1), time_zone)


def due_ends_at(limit: CalendarLimit, time_zone: str) -> datetime:
    """First instant after the last day without tolerance."""
    return end_of_day(limit.due_on, time_zone)


def tolerance_ends_at(limit: CalendarLimit, time_zone: str) -> datetime:
    """First instant after the last day with tolerance."""
    return end_of_day(limit.hard_on, time_zone)


def turns(limits: Limits, time_zone: str) -> tuple[datetime, ...]:
    """The instants, past or to come, at which time alone may change the state; oldest first.

    Raises what ``end_of_day`` raises.
    """
    if limits.calendar is None:
        return ()
    edges = (notice_opens_at, due_ends_at, tolerance_ends_at)
    return tuple(sorted({edge(limits.calendar, time_zone) for edge in edges}))
