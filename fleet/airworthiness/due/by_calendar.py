"""The next limit by calendar."""

from datetime import date, timedelta
from typing import NamedTuple

from fleet.airworthiness.due.civil_months import CalendarRule, add_months, later
from fleet.airworthiness.due.counting import Punctuality, keeps_schedule
from fleet.airworthiness.due.limit import CalendarLimit
from fleet.airworthiness.due.schedule import CalendarInterval, Counting


class Point(NamedTuple):
    """A date as months from an anchor, so that a clipped date is never counted from."""

    anchor_on: date
    months: int

    def after(self, length: int, rule: CalendarRule) -> "Point":
        """One interval further on."""
        if rule is CalendarRule.DAYS:
            return Point(later(self.anchor_on, self.months, length, rule), 0)
        return Point(self.anchor_on, self.months + length)

    def falls_on(self, rule: CalendarRule) -> date:
        """The last day of an interval that ends here."""
        return later(self.anchor_on, self.months, 0, rule)


def next_limit(
    interval: CalendarInterval, length: int, done_on: date, scheduled: CalendarLimit | None, counting: Counting
) -> CalendarLimit:
    """The limit ``length`` after the day on which the work was done, or after the scheduled one.

    Whole intervals that were missed are not owed: the limit always lies after ``done_on``.
    """
    base = Point(done_on, 0)
    if scheduled is not None and keeps_schedule(counting, _punctuality(interval, done_on, scheduled)):
        base = Point(scheduled.anchor_on, scheduled.months)
        while base.after(length, interval.rule).falls_on(interval.rule) <= done_on:
            base = base.after(length, interval.rule)
    due = base.after(length, interval.rule)
    due_on = due.falls_on(interval.rule)
    return CalendarLimit(
        notice_on=due_on - timedelta(days=interval.notice_days),
        due_on=due_on,
        hard_on=_shifted(interval, due, due_on, interval.tolerance),
        interval_days=(due_on - add_months(*base)).days,
        anchor_on=due.anchor_on,
        months=due.months,
    )


def window(interval: CalendarInterval, limit: CalendarLimit) -> tuple[date, date]:
    """First and last day on which the work counts as done on schedule: the tolerance before and after it."""
    point = Point(limit.anchor_on, limit.months)
    opens_on, closes_on = (
        _shifted(interval, point, limit.due_on, units) for units in (-interval.tolerance, interval.tolerance)
    )
    return opens_on, closes_on


def _shifted(interval: CalendarInterval, point: Point, due_on: date, units: int) -> date:
    """Due date and tolerance. Months of tolerance are added to those of the interval, and not to a clipped date."""
    if units == 0:
        return due_on
    origin = Point(due_on, 0) if interval.rule is CalendarRule.CALENDAR_MONTHS else point
    return later(*origin, units, interval.tolerance_rule)


def _punctuality(interval: CalendarInterval, done_on: date, scheduled: CalendarLimit) -> Punctuality:
    opens_on, closes_on = window(interval, scheduled)
    return Punctuality(
        reached=done_on >= scheduled.due_on,
        inside_window=opens_on <= done_on <= closes_on,
        far_too_early=2 * (scheduled.due_on - done_on).days > scheduled.interval_days,
    )
