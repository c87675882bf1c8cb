"""On which day a usage limit is reached: the median of simulated futures with a range."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fleet.airworthiness.forecast.ahead import months_ahead, used_up_on
from fleet.airworthiness.forecast.history import MonthlyUsage, before
from fleet.airworthiness.forecast.paths import RANGE, Paths, quantile
from fleet.airworthiness.forecast.season import season

PATHS = 400
HORIZON_MONTHS = 24


class Outlook(StrEnum):
    """What a forecast can say."""

    FORECAST = "forecast"
    REACHED = "reached"  # nothing is left
    NOT_REACHED = "not_reached"  # not used at all, or the median lies beyond the horizon
    NOT_ENOUGH_HISTORY = "not_enough_history"  # a month of the year was never seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """When a limit is reached. In one of ten futures earlier than the range, in one of ten later."""

    outlook: Outlook
    earliest_on: date | None  # None: not within the horizon, or nothing can be said
    median_on: date | None
    latest_on: date | None


def limit_reached(
    remaining: int,
    history: Sequence[MonthlyUsage],
    today: date,
    *,
    seed: int = 1,
    paths: int = PATHS,
    horizon_months: int = HORIZON_MONTHS,
) -> Forecast:
    """Forecast of the day on which ``remaining`` is used up, today counted as the first day.

    The running month of the history is left out: it is not whole. Equal input gives an equal forecast, and a larger
    remainder never an earlier one. Raises ValueError for a month told twice.
    """
    if remaining <= 0:
        return Forecast(outlook=Outlook.REACHED, earliest_on=today, median_on=today, latest_on=today)
    whole = before(history, today)
    known = season(whole)
    if known is None:
        return Forecast(outlook=Outlook.NOT_ENOUGH_HISTORY, earliest_on=None, median_on=None, latest_on=None)
    if not any(known.totals):
        return Forecast(outlook=Outlook.NOT_REACHED, earliest_on=None, median_on=None, latest_on=None)
    futures = Paths(known, tuple(months_ahead(today, horizon_months)), seed)
    days = sorted(used_up_on(remaining, futures.path(number)) or date.max for number in range(paths))
    early, median, late = (None if day == date.max else day for day in (quantile(days, tenth) for tenth in RANGE))
    outlook = Outlook.NOT_REACHED if median is None else Outlook.FORECAST
    return Forecast(outlook=outlook, earliest_on=early, median_on=median, latest_on=late)
