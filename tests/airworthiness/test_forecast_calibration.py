"""How often the truth lies in the range of a forecast: a range of 80 % must hold it in 80 % of the trials.

The experiment and its bands are those of computations.md, section 6: own simulation, and exact binomial quantiles.
``FORECAST_TRIALS=1500`` runs the full one.
"""

import os
from collections.abc import Callable, Sequence
from datetime import date
from random import Random

import pytest

from fleet.airworthiness.forecast import limit_reached, usage_ahead
from fleet.airworthiness.forecast.ahead import months_ahead, used_up_on
from tests.airworthiness.forecast_worlds import (
    FORECAST_YEAR,
    SUMMER,
    World,
    band,
    history,
    negative_binomial_quantile,
)

TRIALS = int(os.environ.get("FORECAST_TRIALS", "500"))
PATHS = 400 if TRIALS > 500 else 100  # the share of hits does not depend on it
APRIL_1ST = date(FORECAST_YEAR, 4, 1)
WEATHER = {"month_cv": 0.25, "year_cv": 0.1}
PURE_COUNTS = {"month_cv": 0.0, "year_cv": 0.0}

Predict = Callable[[list[list[int]], int], tuple[float, float]]


def over_dispersed(years: list[list[int]], trial: int) -> tuple[float, float]:
    found = usage_ahead(history(years), APRIL_1ST, 6, seed=trial, paths=PATHS)
    assert found is not None
    return found.low, found.high


def counts_only(years: list[list[int]], _trial: int) -> tuple[float, float]:
    """The exact predictive range if counts scattered by counting alone."""
    size = sum(sum(year[SUMMER]) for year in years) + 0.5 * 6
    seen = len(years) / (len(years) + 1)
    return negative_binomial_quantile(size, seen, 0.1), negative_binomial_quantile(size, seen, 0.9)


def bootstrap(years: list[list[int]], trial: int) -> tuple[float, float]:
    """Months drawn again from the few that were seen."""
    rng = Random(trial)  # noqa: S311 - a simulation
    months = [[year[month] for year in years] for month in range(12)][SUMMER]
    sums = sorted(sum(rng.choice(seen) for seen in months) for _ in range(PATHS))
    return sums[PATHS // 10], sums[-PATHS // 10]


def shares(predict: Predict, world: World, seasons: int) -> tuple[float, float, float]:
    """Shares of the trials in which the truth lay below, inside and above."""
    below = above = 0
    for trial in range(TRIALS):
        low, high = predict(world.years(seasons), trial)
        truth = sum(world.year()[SUMMER])
        below += truth < low
        above += truth > high
    return below / TRIALS, 1 - (below + above) / TRIALS, above / TRIALS


def is_inside(share: float, nominal: float) -> bool:
    low, high = band(TRIALS, nominal)
    return low <= share <= high


@pytest.mark.parametrize(("trials", "low", "high"), [(1500, 0.765333, 0.833333), (500, 0.74, 0.856)])
def test_the_band(trials: int, low: float, high: float) -> None:
    # Check values fc.band999.n1500 and fc.band999.n500: own example from the stated formula.
    assert band(trials, 0.8) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize("seasons", [3, 5, 10])
def test_the_range_holds_the_truth_as_often_as_it_says(seasons: int) -> None:
    # Check value fc.simulation.verdicts, over-dispersed after 3, 5 and 10 years: own simulation.
    below, inside, above = shares(over_dispersed, World(1, **WEATHER), seasons)
    assert is_inside(inside, 0.8), inside
    assert is_inside(below, 0.1) and is_inside(above, 0.1), (below, above)


def test_in_a_world_of_pure_counts_the_range_is_rather_too_wide() -> None:
    # computations.md, section 6: 0.870, conservative; own simulation.
    _below, inside, _above = shares(over_dispersed, World(1, **PURE_COUNTS), 5)
    assert band(TRIALS, 0.8)[0] <= inside < 0.92


def test_two_seasons_are_enough() -> None:
    # Own simulation, no source.
    _below, inside, _above = shares(over_dispersed, World(1, **WEATHER), 2)
    assert is_inside(inside, 0.8), inside


@pytest.mark.parametrize(
    ("predict", "world", "calibrated"),
    [(counts_only, WEATHER, False), (bootstrap, WEATHER, False), (counts_only, PURE_COUNTS, True)],
)
def test_the_experiment_can_tell_a_wrong_range(predict: Predict, world: dict[str, float], calibrated: bool) -> None:
    # Check value fc.simulation.verdicts, after 5 years: own simulation.
    _below, inside, _above = shares(predict, World(1, **world), 5)
    assert is_inside(inside, 0.8) is calibrated, inside


def reached(amounts: Sequence[int], remaining: int) -> date:
    """The true day on which it is used up, or the last of all days."""
    spent = [(ahead, float(amounts[ahead.month])) for ahead in months_ahead(APRIL_1ST, 9)]
    return used_up_on(remaining, spent) or date.max


def test_the_range_of_dates_is_calibrated_too() -> None:
    world, inside = World(2, **WEATHER), 0
    for trial in range(TRIALS):
        found = limit_reached(600, history(world.years(4)), APRIL_1ST, seed=trial, paths=PATHS)
        truth = reached(world.year(), 600)
        inside += (found.earliest_on or date.max) <= truth <= (found.latest_on or date.max)
    low, high = band(TRIALS, 0.8)
    assert low <= inside / TRIALS <= high + 0.02, inside / TRIALS  # whole days hold a little more than the range
