"""When a task is to be done: its intervals, and from where the next one counts."""

from dataclasses import dataclass
from enum import StrEnum

from fleet.airworthiness.due.civil_months import CalendarRule
from fleet.airworthiness.due.measures import Dimension


class Counting(StrEnum):
    """From where the next interval counts. A setting of the task, because published rules differ.

    The scheduled point is the limit without tolerance under which the work was done.
    """

    FROM_ACTUAL = "from_actual"  # from where it was done (ML.A.302(d)(1), AMC1 ML.A.302(d))
    # From the scheduled point if it was done inside the tolerance before or after it, else from where it was done
    # (US Army TM 1-1500-328-23).
    FROM_SCHEDULED_INSIDE_WINDOW = "from_scheduled_inside_window"
    # From the scheduled point, early or late (Part-M before Part-ML). Work done more than half an interval early
    # counts from where it was done: else the dimension of a task that never governs would run away.
    FROM_SCHEDULED = "from_scheduled"
    # Early: from where it was done; on time or late: from the scheduled point (14 CFR 91.409(b)).
    OVERRUN_DEDUCTED = "overrun_deducted"


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageInterval:
    """An interval in one dimension, in its own unit. No tolerance stated means none."""

    dimension: Dimension
    first: int | None = None  # from the start to the first time; None: as every
    every: int | None  # from one time to the next; None: once
    tolerance: int = 0
    notice: int = 0  # how long before the limit it counts as due soon; 0: at the limit

    def __post_init__(self) -> None:
        _check(self.dimension, self.first, self.every, self.tolerance, self.notice)

    def length(self, *, repeated: bool) -> int | None:
        """The interval to the next time; None if there is none."""
        return _length(self.first, self.every, repeated=repeated)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarInterval:
    """An interval in days or months."""

    rule: CalendarRule
    first: int | None = None
    every: int | None
    tolerance: int = 0
    tolerance_rule: CalendarRule = CalendarRule.DAYS
    notice_days: int = 0

    def __post_init__(self) -> None:
        _check("calendar", self.first, self.every, self.tolerance, self.notice_days)

    def length(self, *, repeated: bool) -> int | None:
        """The interval to the next time; None if there is none."""
        return _length(self.first, self.every, repeated=repeated)


def _length(first: int | None, every: int | None, *, repeated: bool) -> int | None:
    return every if repeated or first is None else first


def _check(measure: str, first: int | None, every: int | None, tolerance: int, notice: int) -> None:
    given = [interval for interval in (first, every) if interval is not None]
    if not given:
        raise ValueError(f"The interval by {measure} is empty: give the first, or the one from time to time.")
    if min(given) < 1:
        raise ValueError(f"An interval by {measure} must be at least 1.")
    if min(tolerance, notice) < 0:
        raise ValueError(f"Tolerance and notice by {measure} must not be negative.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """All intervals of a task: the first to be reached governs. Raises ValueError for one that could never be due."""

    usage: tuple[UsageInterval, ...]
    calendar: CalendarInterval | None
    counting: Counting
    life_limit: bool  # reached at the limit itself, and never with a tolerance (ML.A.503)

    def __post_init__(self) -> None:
        intervals: list[UsageInterval | CalendarInterval] = [*self.usage]
        if self.calendar is not None:
            intervals.append(self.calendar)
        if not intervals:
            raise ValueError("A task needs at least one interval, by usage or by calendar.")
        if len({interval.dimension for interval in self.usage}) < len(self.usage):
            raise ValueError("A task has at most one interval in each dimension.")
        if self.life_limit and any(interval.tolerance for interval in intervals):
            raise ValueError("A life limit has no tolerance: set it to 0.")
