"""The limits to store when work is signed."""

from fleet.airworthiness.due import by_calendar, by_usage
from fleet.airworthiness.due.limit import CalendarLimit, Limits, UsageLimit
from fleet.airworthiness.due.measures import CALENDAR, Done, Measure
from fleet.airworthiness.due.schedule import Schedule


def limits(schedule: Schedule, start: Done | None, last: Done | None, previous: Limits | None) -> Limits:
    """The limits that hold after ``last``, or from ``start`` while the work was never done.

    ``previous`` are the limits under which ``last`` was done; without them every counting counts from where it was
    done. A dimension whose reading is missing from what is counted from is unknown; without ``start`` and ``last``
    everything is. Raises what date arithmetic raises for dates outside the calendar.
    """
    origin, under = (start, None) if last is None else (last, previous)
    usage, unknown = _by_usage(schedule, origin, under, repeated=last is not None)
    calendar, unknown_calendar = _by_calendar(schedule, origin, under, repeated=last is not None)
    return Limits(
        usage=usage,
        calendar=calendar,
        unknown=(*unknown, *unknown_calendar),
        finished=not (usage or calendar or unknown or unknown_calendar),
        life_limit=schedule.life_limit,
    )


def _by_usage(
    schedule: Schedule, origin: Done | None, under: Limits | None, *, repeated: bool
) -> tuple[tuple[UsageLimit, ...], tuple[Measure, ...]]:
    known: list[UsageLimit] = []
    unknown: list[Measure] = []
    for interval in schedule.usage:
        length = interval.length(repeated=repeated)
        if length is None:
            continue
        actual = None if origin is None else origin.readings.get(interval.dimension)
        if actual is None:
            unknown.append(interval.dimension)
        else:
            scheduled = None if under is None else under.in_dimension(interval.dimension)
            known.append(by_usage.next_limit(interval, length, actual, scheduled, schedule.counting))
    return tuple(known), tuple(unknown)


def _by_calendar(
    schedule: Schedule, origin: Done | None, under: Limits | None, *, repeated: bool
) -> tuple[CalendarLimit | None, tuple[Measure, ...]]:
    interval = schedule.calendar
    length = None if interval is None else interval.length(repeated=repeated)
    if interval is None or length is None:
        return None, ()
    if origin is None:
        return None, (CALENDAR,)
    scheduled = None if under is None else under.calendar
    return by_calendar.next_limit(interval, length, origin.on, scheduled, schedule.counting), ()
