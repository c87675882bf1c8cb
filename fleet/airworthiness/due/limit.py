"""Limits as they are stored when work is signed: due states follow from them by comparison."""

from dataclasses import dataclass
from datetime import date

from fleet.airworthiness.due.measures import Dimension, Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageLimit:
    """Absolute readings of one dimension. Raises ValueError unless they follow each other."""

    dimension: Dimension
    notice: int  # due soon from here
    due: int
    hard: int  # with tolerance; without one the same as due
    interval: int  # what led to due, at least 1

    def __post_init__(self) -> None:
        if not self.notice <= self.due <= self.hard or self.interval < 1:
            raise ValueError(f"The limits by {self.dimension} contradict each other: sign the work again.")


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarLimit:
    """Civil dates of the club's time zone. Raises ValueError unless they follow each other."""

    notice_on: date  # due soon from this day
    due_on: date  # the last day
    hard_on: date  # the last day with tolerance
    interval_days: int  # what led to due_on, at least 1
    # Due is so many months after the anchor, clipped (0 for an interval in days): the next one counts from there.
    anchor_on: date
    months: int

    def __post_init__(self) -> None:
        if not self.notice_on <= self.due_on <= self.hard_on or self.interval_days < 1:
            raise ValueError("The limits by calendar contradict each other: sign the work again.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """All limits of one task on one aircraft or component.

    Without any limit it is due never again if ``finished``, else nothing can be said about it.
    """

    usage: tuple[UsageLimit, ...]
    calendar: CalendarLimit | None
    unknown: tuple[Measure, ...]  # there is an interval, but nothing is known from which it counts
    finished: bool  # it was to be done once, and is done
    life_limit: bool

    def in_dimension(self, dimension: Dimension) -> UsageLimit | None:
        """The limit in one dimension, if there is one and it is known."""
        return next((limit for limit in self.usage if limit.dimension == dimension), None)
