"""Possible futures of monthly usage: gamma by gamma by Poisson, with what is not known of means and spread.

Each path draws from its own generator, so that it is the same future for whatever is asked of it: a later limit is
never forecast to be reached earlier.
"""

from collections.abc import Iterator, Sequence
from math import exp, sqrt
from random import Random
from typing import TypeVar

from fleet.airworthiness.forecast.ahead import Ahead
from fleet.airworthiness.forecast.season import Season

WIDEST_OF_MONTHS, WIDEST_OF_YEARS = 4.0, 1.0  # few seasons say little about a spread: 200 % and 100 % are enough
RANGE = (1, 5, 9)  # tenths: a range of four futures out of five, and the median
NORMAL_FROM = 30  # mean from which on a count is drawn as a rounded normal value
T = TypeVar("T")


class Paths:
    """Futures of one season."""

    def __init__(self, season: Season, months: Sequence[Ahead], seed: int) -> None:
        self.season = season
        self.means = season.means
        self.months = months
        self.seed = seed

    def path(self, number: int) -> Iterator[tuple[Ahead, float]]:
        """One future, drawn as far as it is read."""
        # no secret: the same input has to give the same forecast
        rng = Random(self.seed * 1_000_003 + number)  # noqa: S311  # nosec B311
        spread = self.season.spread
        of_years = _uncertain(rng, spread.of_years, spread.freedom_of_years, WIDEST_OF_YEARS)
        of_months = _uncertain(rng, spread.of_months, spread.freedom_of_months, WIDEST_OF_MONTHS)
        level = _factor(rng, of_years / min(self.season.years))
        means: dict[int, float] = {}
        year, of_year = 0, level
        for ahead in self.months:
            if ahead.first.year != year:
                year, of_year = ahead.first.year, level * _factor(rng, of_years)
            if ahead.month not in means:
                means[ahead.month] = self.means[ahead.month] * _factor(rng, self._variance(ahead.month, of_months))
            expected = means[ahead.month] * of_year * _factor(rng, of_months) * ahead.share
            yield ahead, _count(rng, expected)

    def _variance(self, month: int, of_months: float) -> float:
        """How far the true mean may be from the seen one: the seen years scatter by counting and by their factors."""
        return 1 / (self.season.totals[month] + 0.5) + of_months / self.season.years[month]


def _factor(rng: Random, variance: float) -> float:
    """A factor around 1, gamma distributed."""
    return rng.gammavariate(1 / variance, variance) if variance > 1e-9 else 1.0


def _uncertain(rng: Random, variance: float, freedom: float | None, widest: float) -> float:
    """A variance that its estimate allows (scaled chi-square); an assumed one is taken as it is."""
    if freedom is None:
        return variance
    chi_square = rng.gammavariate(freedom / 2, 2)
    return min(widest, variance * freedom / max(chi_square, 1e-9))


def _count(rng: Random, expected: float) -> float:
    """A Poisson count."""
    if expected >= NORMAL_FROM:
        return max(0.0, round(rng.normalvariate(expected, sqrt(expected))))
    count, term = 0, exp(-expected)
    left = rng.uniform(0, 1) - term
    while left > 0 and term > 1e-18:
        count += 1
        term *= expected / count
        left -= term
    return count


def quantile(ordered: Sequence[T], tenths: int) -> T:
    """The value that so many tenths of the values do not exceed."""
    return ordered[min(len(ordered), max(1, round((len(ordered) + 1) * tenths / 10))) - 1]
