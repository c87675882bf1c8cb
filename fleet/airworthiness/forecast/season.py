"""Means of the months of the year, and how far months and years stray from them.

Months scatter far more than counts do: a wet May grounds everybody on the same days. So on top of the scatter of
counting (Poisson) every month and every year has a factor of its own. Their variances are found by the method of
moments, pooled over the months that are flown enough to tell.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import sqrt
from statistics import fmean

from fleet.airworthiness.forecast.history import MONTHS_OF_A_YEAR, MonthlyUsage

FLOWN_ENOUGH = 20  # mean of a month from which on its scatter says something about months and years


Telling = Mapping[int, tuple[float, Mapping[int, int]]]  # by month: mean, and amount by year


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Variances of the factors of months and years (squares of coefficients of variation), and their freedom."""

    of_months: float
    of_years: float
    freedom_of_months: float | None  # degrees of freedom of the estimate; None: assumed, not estimated
    freedom_of_years: float | None


# Before two seasons are known: wide enough for what a first season can miss. Own choice, no source.
ASSUMED = Spread(of_months=0.25, of_years=0.04, freedom_of_months=None, freedom_of_years=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """What the history tells of each month of the year: index 0 is January."""

    totals: tuple[int, ...]
    years: tuple[int, ...]  # in how many years the month was seen
    spread: Spread

    @property
    def means(self) -> tuple[float, ...]:
        """Usage to expect of a whole month; the half is what a count of 0 leaves possible."""
        return tuple((total + 0.5) / years for total, years in zip(self.totals, self.years, strict=True))


def season(history: Iterable[MonthlyUsage]) -> Season | None:
    """The season of a history; None unless every month of the year was seen at least once."""
    amounts: dict[int, dict[int, int]] = defaultdict(dict)
    for one in history:
        amounts[one.month][one.year] = one.amount
    if len(amounts) < len(MONTHS_OF_A_YEAR):
        return None
    return Season(
        totals=tuple(sum(amounts[month].values()) for month in MONTHS_OF_A_YEAR),
        years=tuple(len(amounts[month]) for month in MONTHS_OF_A_YEAR),
        spread=_spread(amounts),
    )


def _spread(amounts: Mapping[int, Mapping[int, int]]) -> Spread:
    telling = {
        month: (fmean(years.values()), years)
        for month, years in amounts.items()
        if len(years) > 1 and fmean(years.values()) >= FLOWN_ENOUGH
    }
    if not telling:
        return ASSUMED
    of_years = max(0.0, _variance_of_years(telling))
    freedom = sum(len(years) - 1 for _mean, years in telling.values())
    return Spread(
        of_months=max(0.0, (_variance(telling) - of_years) / (1 + of_years)),
        of_years=of_years,
        freedom_of_months=freedom,
        freedom_of_years=freedom / len(telling),
    )


def _residuals(telling: Telling) -> dict[int, list[tuple[float, float]]]:
    """By year: how far each month was from its mean, made up for the mean being found from the same years; the mean."""
    found: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for mean, years in telling.values():
        scale = sqrt(len(years) / (len(years) - 1))
        for year, amount in years.items():
            found[year].append(((amount - mean) * scale, mean))
    return found


def _variance(telling: Telling) -> float:
    """Of a month's amount around its mean, without the scatter of counting, as a share of the mean squared."""
    pairs = [pair for year in _residuals(telling).values() for pair in year]
    return sum(residual**2 - mean for residual, mean in pairs) / sum(mean**2 for _residual, mean in pairs)


def _variance_of_years(telling: Telling) -> float:
    """What different months of the same year have in common: the mean product of their residuals."""
    products = weights = 0.0
    for year in _residuals(telling).values():
        products += sum(residual for residual, _ in year) ** 2 - sum(residual**2 for residual, _ in year)
        weights += sum(mean for _, mean in year) ** 2 - sum(mean**2 for _, mean in year)
    return products / weights if weights else ASSUMED.of_years
