"""Where a task stands: a comparison of stored limits with readings and today."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from fleet.airworthiness.due.limit import CalendarLimit, Limits, UsageLimit
from fleet.airworthiness.due.measures import CALENDAR, MEASURES, Measure, Readings


class State(StrEnum):
    """State of a due item."""

    OK = "ok"
    DUE_SOON = "due_soon"
    IN_TOLERANCE = "in_tolerance"
    UNKNOWN = "unknown"
    OVERDUE = "overdue"


# Overdue is worse than unknown: no reading that is still missing could make it better.
_SEVERITY = {state: place for place, state in enumerate(State)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Remaining:
    """One measure of a due item: its own state, and how much is left."""

    measure: Measure
    state: State
    left: int | None  # in the unit of the dimension, or days; negative beyond the limit; None: unknown
    share: Fraction | None  # what is left, as a share of the interval


@dataclass(frozen=True, slots=True, kw_only=True)
class DueState:
    """State of a due item: the worst of its measures."""

    state: State
    remaining: tuple[Remaining, ...]  # in the order of the measures
    governing: Measure | None  # None: it has no limit


def assess(limits: Limits, readings: Readings, today: date) -> DueState:
    """State, what is left in every measure, and the measure that governs.

    The measure in the worst state governs; among equals the one with the smallest share of its interval left, so
    that hours compare with launches and days; among those the first in the order of the measures.
    ``today`` is the civil date in the club's time zone.
    """
    remaining = tuple(sorted(_remaining(limits, readings, today), key=lambda one: MEASURES.index(one.measure)))
    if not remaining:
        return DueState(state=State.OK if limits.finished else State.UNKNOWN, remaining=(), governing=None)
    worst = min(remaining, key=lambda one: (-_SEVERITY[one.state], one.share or 0))
    return DueState(state=worst.state, remaining=remaining, governing=worst.measure)


def state(limits: Limits, readings: Readings, today: date) -> State:
    """The state alone, at a fraction of the cost."""
    found = [_by_usage(limit, readings.get(limit.dimension), limits.life_limit) for limit in limits.usage]
    if limits.calendar is not None:
        found.append(_by_calendar(limits.calendar, today, limits.life_limit))
    if limits.unknown or not (found or limits.finished):
        found.append(State.UNKNOWN)
    return max(found, key=_SEVERITY.__getitem__, default=State.OK)


def _remaining(limits: Limits, readings: Readings, today: date) -> Iterator[Remaining]:
    for limit in limits.usage:
        reading = readings.get(limit.dimension)
        left = None if reading is None else limit.due - reading
        share = None if left is None else Fraction(left, limit.interval)
        now = _by_usage(limit, reading, limits.life_limit)
        yield Remaining(measure=limit.dimension, state=now, left=left, share=share)
    if limits.calendar is not None:
        days = (limits.calendar.due_on - today).days
        share = Fraction(days, limits.calendar.interval_days)
        now = _by_calendar(limits.calendar, today, limits.life_limit)
        yield Remaining(measure=CALENDAR, state=now, left=days, share=share)
    for measure in limits.unknown:
        yield Remaining(measure=measure, state=State.UNKNOWN, left=None, share=None)


def _by_usage(limit: UsageLimit, reading: int | None, life_limit: bool) -> State:
    """At the limit itself a task is due and not beyond it, and a life limit is reached (ML.A.503)."""
    if reading is None:
        return State.UNKNOWN
    if reading > limit.hard or (life_limit and reading >= limit.due):
        return State.OVERDUE
    if reading > limit.due:
        return State.IN_TOLERANCE
    return State.DUE_SOON if reading >= limit.notice else State.OK


def _by_calendar(limit: CalendarLimit, today: date, life_limit: bool) -> State:
    """A date counts through the end of its day."""
    if today > (limit.due_on if life_limit else limit.hard_on):
        return State.OVERDUE
    if today > limit.due_on:
        return State.IN_TOLERANCE
    return State.DUE_SOON if today >= limit.notice_on else State.OK
