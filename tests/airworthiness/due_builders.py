"""Schedules, limits and facts of continuing airworthiness, to be changed one thing at a time."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from fleet.airworthiness import due
from fleet.airworthiness.due import (
    CalendarInterval,
    CalendarRule,
    Counting,
    Dimension,
    Done,
    Limits,
    Readings,
    Schedule,
    UsageInterval,
)
from fleet.airworthiness.due_facts import DirectiveFact, DueFact, MissingPosition, UsageRecord
from fleet.airworthiness.facts import ClubPolicy
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.verdict import Reason
from tests.airworthiness.builders import NOW, POLICY

MINUTES, LAUNCHES, CYCLES = Dimension.AIRFRAME_MINUTES, Dimension.LAUNCHES, Dimension.CYCLES
FROM_ACTUAL, SCHEDULED = Counting.FROM_ACTUAL, Counting.FROM_SCHEDULED
INSIDE, DEDUCTED = Counting.FROM_SCHEDULED_INSIDE_WINDOW, Counting.OVERRUN_DEDUCTED


def h(hours: float) -> int:
    """Hours of a published example in whole minutes."""
    return round(hours * 60)


def usage(every: int | None, dimension: Dimension = MINUTES, **changes: Any) -> UsageInterval:
    return UsageInterval(dimension=dimension, every=every, **changes)


def months(every: int | None, **changes: Any) -> CalendarInterval:
    """Months; a tolerance is in months too."""
    start = {"rule": CalendarRule.MONTHS, "tolerance_rule": CalendarRule.MONTHS}
    return CalendarInterval(every=every, **start | changes)


def calendar_months(every: int) -> CalendarInterval:
    return CalendarInterval(rule=CalendarRule.CALENDAR_MONTHS, every=every)


def days(every: int, **changes: Any) -> CalendarInterval:
    return CalendarInterval(rule=CalendarRule.DAYS, every=every, **changes)


def schedule(
    *intervals: UsageInterval | CalendarInterval, counting: Counting = FROM_ACTUAL, life_limit: bool = False
) -> Schedule:
    calendar = [interval for interval in intervals if isinstance(interval, CalendarInterval)]
    return Schedule(
        usage=tuple(interval for interval in intervals if isinstance(interval, UsageInterval)),
        calendar=calendar[0] if calendar else None,
        counting=counting,
        life_limit=life_limit,
    )


def aeroplane(counting: Counting = FROM_ACTUAL) -> Schedule:
    """Minimum inspection programme of aeroplanes: annual or 100 h, tolerance a month or 10 h (ML.A.302(d)(1))."""
    return schedule(usage(h(100), tolerance=h(10)), months(12, tolerance=1), counting=counting)


def sailplane(counting: Counting = FROM_ACTUAL) -> Schedule:
    """Minimum inspection programme of sailplanes: annual, tolerance a month (ML.A.302(d)(1))."""
    return schedule(months(12, tolerance=1), counting=counting)


def done(on: str | date = "2025-05-10", minutes: int | None = None, **readings: int) -> Done:
    """Work done on a day, at readings by the names of their dimensions."""
    known = {Dimension(name): reading for name, reading in readings.items()}
    if minutes is not None:
        known[MINUTES] = minutes
    return Done(on=date.fromisoformat(on) if isinstance(on, str) else on, readings=known)


def first(plan: Schedule, start: Done) -> Limits:
    """Limits before the work was ever done."""
    return due.limits(plan, start, None, None)


def again(plan: Schedule, last: Done, previous: Limits | None = None) -> Limits:
    """Limits after the work was done."""
    return due.limits(plan, None, last, previous)


def dates(limits: Limits) -> tuple[str, str]:
    """The day it is due, and the last day with tolerance."""
    assert limits.calendar is not None
    return limits.calendar.due_on.isoformat(), limits.calendar.hard_on.isoformat()


def readings(limits: Limits, dimension: Dimension = MINUTES) -> tuple[int, int]:
    """The reading at which it is due, and the last one with tolerance."""
    limit = limits.in_dimension(dimension)
    assert limit is not None
    return limit.due, limit.hard


def state(limits: Limits, today: str = "2026-05-10", **now: int) -> str:
    """The state, from the full assessment; the quick one must agree."""
    known: Readings = {Dimension(name): reading for name, reading in now.items()}
    found = due.assess(limits, known, date.fromisoformat(today)).state
    assert due.state.state(limits, known, date.fromisoformat(today)) is found
    return found.value


# An annual inspection with a month of tolerance and a month of notice, due on the day of ``builders.NOW``.
ANNUAL = schedule(months(12, tolerance=1, notice_days=30))
DUE_TODAY = again(ANNUAL, done("2025-05-10"))
NO_SIGN = UsageRecord(last_recorded_at=None, sign_of_flight_at=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """The facts that these rules read."""

    aircraft_id: str = "aircraft"
    policy: ClubPolicy = POLICY
    due: tuple[DueFact, ...] = ()
    directives: tuple[DirectiveFact, ...] = ()
    missing_positions: tuple[MissingPosition, ...] = ()
    usage_record: UsageRecord = NO_SIGN


def item(limits: Limits, **changes: Any) -> DueFact:
    """A mandatory annual inspection of the aircraft with other limits."""
    fact = DueFact(
        task_id="task",
        title="Annual inspection",
        mandatory=True,
        subject_type="aircraft",
        subject_id="aircraft",
        subject_label="",
        limits=limits,
        readings={},
        known=True,
    )
    return replace(fact, **changes)


def part(limits: Limits, **changes: Any) -> DueFact:
    """The same on a component."""
    start = {"subject_type": "component", "subject_id": "part", "subject_label": "tow release 0815"}
    return item(limits, **start | changes)


def directive(limits: Limits | None, **changes: Any) -> DirectiveFact:
    """A directive that applies."""
    fact = DirectiveFact(
        id="directive",
        reference="2026-0001",
        title="Wing fittings",
        decision="applicable",
        complied_finally=False,
        limits=limits,
        readings={},
    )
    return replace(fact, **changes)


def found(rule: Rule, known: Known, now: datetime = NOW) -> list[Reason]:
    """What one rule finds."""
    facts: Any = known
    return list(rule.judge(facts, now))


def turns(rule: Rule, known: Known) -> Iterable[datetime]:
    facts: Any = known
    return rule.turns(facts)
