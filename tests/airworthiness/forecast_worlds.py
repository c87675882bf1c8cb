"""Worlds in which the true usage is known, to see how often a forecast's range holds it.

Experiment of computations.md, section 6: launches of a club aircraft by month, gamma by gamma by Poisson.
"""

from collections.abc import Sequence
from math import comb, exp, fsum, lgamma, log, sqrt
from random import Random

from fleet.airworthiness.forecast import MonthlyUsage

TRUE_MEANS = (5, 10, 60, 150, 200, 220, 240, 220, 160, 90, 30, 5)
FORECAST_YEAR = 2026
SUMMER = slice(3, 9)  # April to September


class World:
    """Years drawn from the true means, with coefficients of variation of months and years."""

    def __init__(self, seed: int, *, month_cv: float, year_cv: float) -> None:
        self.rng = Random(seed)  # noqa: S311 - a simulation
        self.month_cv = month_cv
        self.year_cv = year_cv

    def year(self) -> list[int]:
        of_year = self._factor(self.year_cv)
        return [self._poisson(mean * of_year * self._factor(self.month_cv)) for mean in TRUE_MEANS]

    def years(self, count: int) -> list[list[int]]:
        return [self.year() for _ in range(count)]

    def _factor(self, cv: float) -> float:
        return self.rng.gammavariate(1 / cv**2, cv**2) if cv else 1.0

    def _poisson(self, mean: float) -> int:
        """Counts arrivals in a unit of time; large means by the normal approximation."""
        if mean > 60:
            return max(0, round(self.rng.normalvariate(mean, sqrt(mean))))
        count, time = 0, self.rng.expovariate(1)
        while time < mean:
            count, time = count + 1, time + self.rng.expovariate(1)
        return count


def history(years: Sequence[Sequence[int]], before: int = FORECAST_YEAR) -> list[MonthlyUsage]:
    """Whole years that end with the one before ``before``."""
    return [
        MonthlyUsage(year=before - len(years) + number, month=month, amount=amount)
        for number, amounts in enumerate(years)
        for month, amount in enumerate(amounts, start=1)
    ]


def band(trials: int, share: float, two_sided: float = 0.999) -> tuple[float, float]:
    """Exact binomial quantiles of an observed share."""
    tail = (1 - two_sided) / 2
    return _binomial_quantile(trials, share, tail) / trials, _binomial_quantile(trials, share, 1 - tail) / trials


def _binomial_quantile(trials: int, share: float, level: float) -> int:
    below = 0.0
    for successes in range(trials + 1):
        below += exp(log(comb(trials, successes)) + successes * log(share) + (trials - successes) * log(1 - share))
        if below >= level:
            return successes
    return trials


def negative_binomial_quantile(size: float, probability: float, level: float) -> int:
    """Of the predictive distribution when counts are Poisson: size is the sum plus a half, probability Y / (Y + 1)."""
    mean = size * (1 - probability) / probability
    below, count = 0.0, max(0, int(mean - 12 * sqrt(mean / probability)))
    while True:
        below += exp(
            fsum(
                (
                    lgamma(count + size) - lgamma(size) - lgamma(count + 1),
                    size * log(probability),
                    count * log(1 - probability),
                )
            )
        )
        if below >= level:
            return count
        count += 1
