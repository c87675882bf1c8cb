"""The months ahead, and the day on which an amount is used up in them."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from math import ceil
from typing import NamedTuple

from fleet.airworthiness.due.civil_months import add_months, last_of_month


class Ahead(NamedTuple):
    """What is left of a month."""

    first: date
    days: int
    share: float  # of the whole month
    month: int  # index 0 is January


def months_ahead(today: date, count: int) -> Iterator[Ahead]:
    """The rest of this month, today included, and the whole months after it: ``count`` in all."""
    begin = today.replace(day=1)
    for number in range(count):
        start = add_months(begin, number)
        end, first = last_of_month(start), max(start, today)
        days = (end - first).days + 1
        yield Ahead(first, days, days / end.day, start.month - 1)


def used_up_on(remaining: float, spent: Iterable[tuple[Ahead, float]]) -> date | None:
    """The day on which the remainder reaches zero, each amount spent evenly over its days; None: not within them."""
    for ahead, amount in spent:
        if amount >= remaining:
            return ahead.first + timedelta(days=max(1, ceil(remaining / amount * ahead.days)) - 1)
        remaining -= amount
    return None


def expected_on(remaining: int, monthly_means: Sequence[float], today: date, months: int) -> date | None:
    """The same if every month is just as its mean (index 0 is January); above 0 and at most ``months`` ahead."""
    return used_up_on(
        remaining, ((ahead, monthly_means[ahead.month] * ahead.share) for ahead in months_ahead(today, months))
    )
