"""How much an aircraft will be used in a time to come."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleet.airworthiness.forecast.ahead import months_ahead
from fleet.airworthiness.forecast.history import MonthlyUsage, before
from fleet.airworthiness.forecast.paths import RANGE, Paths, quantile
from fleet.airworthiness.forecast.season import season


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Median, and a range of four futures out of five."""

    low: float
    median: float
    high: float


def usage_ahead(
    history: Sequence[MonthlyUsage], today: date, months: int, *, seed: int = 1, paths: int = 400
) -> Amount | None:
    """Usage in the rest of this month, today included, and the months after it, ``months`` in all.

    None without a whole season of history. Raises ValueError for a month told twice.
    """
    known = season(before(history, today))
    if known is None:
        return None
    futures = Paths(known, tuple(months_ahead(today, months)), seed)
    sums = sorted(sum(amount for _, amount in futures.path(number)) for number in range(paths))
    low, median, high = (quantile(sums, tenths) for tenths in RANGE)
    return Amount(low=low, median=median, high=high)
