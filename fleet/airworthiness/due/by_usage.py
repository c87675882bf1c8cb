"""The next limit in one dimension of usage."""

from fleet.airworthiness.due.counting import Punctuality, keeps_schedule
from fleet.airworthiness.due.limit import UsageLimit
from fleet.airworthiness.due.schedule import Counting, UsageInterval


def next_limit(
    interval: UsageInterval, length: int, actual: int, scheduled: UsageLimit | None, counting: Counting
) -> UsageLimit:
    """The limit ``length`` after the reading at which the work was done, or after the scheduled one.

    Whole intervals that were missed are not owed: the limit always lies after ``actual``, by at most ``length``
    if the work was late.
    """
    base = actual
    if scheduled is not None and keeps_schedule(counting, _punctuality(interval, actual, scheduled)):
        missed = max(0, (actual - scheduled.due) // length)
        base = scheduled.due + missed * length
    due = base + length
    return UsageLimit(
        dimension=interval.dimension,
        notice=due - interval.notice,
        due=due,
        hard=due + interval.tolerance,
        interval=length,
    )


def _punctuality(interval: UsageInterval, actual: int, scheduled: UsageLimit) -> Punctuality:
    return Punctuality(
        reached=actual >= scheduled.due,
        inside_window=abs(actual - scheduled.due) <= interval.tolerance,
        far_too_early=2 * (scheduled.due - actual) > scheduled.interval,
    )
