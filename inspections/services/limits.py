"""Between the rows of the programme and the pure computation of limits. No database."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from fleet.airworthiness.due import (
    CALENDAR,
    CalendarInterval,
    CalendarLimit,
    CalendarRule,
    Counting,
    Dimension,
    Limits,
    Schedule,
    UsageInterval,
    UsageLimit,
)
from inspections.models import CALENDAR as CALENDAR_DIMENSIONS
from inspections.models import DueItem, Task, TaskLimit

Shift = Mapping[str, int]


def schedule_of(task: Task) -> Schedule:
    """The intervals of a task; its limits must be prefetched. Raises ValueError for intervals that contradict."""
    rows = list(task.limits.all())
    calendar = next((row for row in rows if row.dimension in CALENDAR_DIMENSIONS), None)
    return Schedule(
        usage=tuple(_usage_interval(row) for row in rows if row is not calendar),
        calendar=None if calendar is None else _calendar_interval(calendar),
        counting=Counting(task.counting),
        life_limit=task.life_limit,
    )


def _usage_interval(row: TaskLimit) -> UsageInterval:
    return UsageInterval(
        dimension=Dimension(row.dimension), first=row.first, every=row.every, tolerance=row.tolerance, notice=row.notice
    )


def _calendar_interval(row: TaskLimit) -> CalendarInterval:
    return CalendarInterval(
        rule=CalendarRule(row.dimension),
        first=row.first,
        every=row.every,
        tolerance=row.tolerance,
        tolerance_rule=CalendarRule(row.tolerance_in or "days"),
        notice_days=row.notice,
    )


def write(item: DueItem, limits: Limits, offsets: Shift) -> None:
    """Set the columns of a due item from limits on the subject's own meter."""
    intervals: dict[str, Any] = {}
    for dimension in Dimension:
        limit = limits.in_dimension(dimension)
        offset = offsets.get(dimension, 0)
        for level in ("notice", "due", "hard"):
            setattr(item, f"{level}_{dimension}", None if limit is None else getattr(limit, level) + offset)
        if limit is not None:
            intervals[dimension] = limit.interval
    calendar = limits.calendar
    item.notice_on = None if calendar is None else calendar.notice_on
    item.due_on = None if calendar is None else calendar.due_on
    item.hard_on = None if calendar is None else calendar.hard_on
    if calendar is not None:
        anchor = {
            "days": calendar.interval_days,
            "anchor_on": calendar.anchor_on.isoformat(),
            "months": calendar.months,
        }
        intervals[CALENDAR] = anchor
    item.intervals, item.offsets = intervals, dict(offsets)
    item.unknown, item.finished = [str(measure) for measure in limits.unknown], limits.finished


def _usage(item: DueItem, dimension: Dimension, shift: Shift) -> UsageLimit | None:
    due = getattr(item, f"due_{dimension}")
    if due is None:
        return None
    offset = shift.get(dimension, 0)
    return UsageLimit(
        dimension=dimension,
        notice=getattr(item, f"notice_{dimension}") - offset,
        due=due - offset,
        hard=getattr(item, f"hard_{dimension}") - offset,
        interval=item.intervals[dimension],
    )


def _calendar(item: DueItem) -> CalendarLimit | None:
    if item.notice_on is None or item.due_on is None or item.hard_on is None:
        return None
    told = item.intervals[CALENDAR]
    return CalendarLimit(
        notice_on=item.notice_on,
        due_on=item.due_on,
        hard_on=item.hard_on,
        interval_days=told["days"],
        anchor_on=date.fromisoformat(told["anchor_on"]),
        months=told["months"],
    )


def read(item: DueItem, *, own_meter: bool = False) -> Limits:
    """The stored limits, on the aircraft's meter, or on the component's own."""
    shift = item.offsets if own_meter else {}
    found = (_usage(item, dimension, shift) for dimension in Dimension)
    return Limits(
        usage=tuple(limit for limit in found if limit is not None),
        calendar=_calendar(item),
        unknown=tuple(CALENDAR if measure == CALENDAR else Dimension(measure) for measure in item.unknown),
        finished=item.finished,
        life_limit=item.task.life_limit,
    )


def told(limits: Limits) -> dict[str, Any]:
    """Limits in JSON types, to be kept with the work that was done under them."""
    calendar = limits.calendar
    return {
        "usage": {limit.dimension: [limit.notice, limit.due, limit.hard, limit.interval] for limit in limits.usage},
        "calendar": calendar
        and [
            *(day.isoformat() for day in (calendar.notice_on, calendar.due_on, calendar.hard_on)),
            calendar.interval_days,
            calendar.anchor_on.isoformat(),
            calendar.months,
        ],
    }


def untold(kept: Mapping[str, Any] | None) -> Limits | None:
    """The same back again."""
    if kept is None:
        return None
    calendar = kept["calendar"]
    return Limits(
        usage=tuple(
            UsageLimit(dimension=Dimension(name), notice=notice, due=due, hard=hard, interval=interval)
            for name, (notice, due, hard, interval) in kept["usage"].items()
        ),
        calendar=calendar
        and CalendarLimit(
            notice_on=date.fromisoformat(calendar[0]),
            due_on=date.fromisoformat(calendar[1]),
            hard_on=date.fromisoformat(calendar[2]),
            interval_days=calendar[3],
            anchor_on=date.fromisoformat(calendar[4]),
            months=calendar[5],
        ),
        unknown=(),
        finished=False,
        life_limit=False,
    )
