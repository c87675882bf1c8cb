"""Forecast of the day on which a limit is reached."""

from calendar import monthrange
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.airworthiness.forecast import Forecast, MonthlyUsage, Outlook, expected_on, limit_reached, usage_ahead
from fleet.airworthiness.forecast.ahead import Ahead, months_ahead
from fleet.airworthiness.forecast.history import before
from fleet.airworthiness.forecast.paths import Paths, quantile
from fleet.airworthiness.forecast.season import ASSUMED, Season, Spread, season
from tests.airworthiness.forecast_worlds import TRUE_MEANS, World, history, negative_binomial_quantile

APRIL_1ST = date(2026, 4, 1)
NO_SPREAD = Spread(of_months=0.0, of_years=0.0, freedom_of_months=None, freedom_of_years=None)
FIVE_YEARS = history(World(3, month_cv=0.25, year_cv=0.1).years(5))
EVERY_YEAR_THE_SAME = history([TRUE_MEANS] * 5)
NOTHING_SAID: dict[str, Any] = {"earliest_on": None, "median_on": None, "latest_on": None}


def forecast(remaining: int, known: Any = FIVE_YEARS, today: date = APRIL_1ST, **options: Any) -> Forecast:
    return limit_reached(remaining, known, today, **options)


def width(found: Forecast) -> timedelta:
    assert found.earliest_on is not None and found.latest_on is not None
    return found.latest_on - found.earliest_on


# ---- the season ----


def test_a_flat_yearly_rate_forecasts_too_late_in_spring() -> None:
    # Check value fc.seasonal_due_date: own example from the stated formula. 600 launches left on 2026-04-01.
    flat = [sum(TRUE_MEANS) / 365 * monthrange(2026, month)[1] for month in range(1, 13)]
    assert expected_on(600, TRUE_MEANS, APRIL_1ST, 24) == date(2026, 7, 4)
    assert expected_on(600, flat, APRIL_1ST, 24) == date(2026, 9, 5)


def test_the_forecast_does_not_fall_into_the_trap() -> None:
    # The same check value: the median lies at the seasonal date and the whole range before the flat one.
    found = forecast(600, EVERY_YEAR_THE_SAME)
    assert found.outlook is Outlook.FORECAST
    assert found.median_on is not None and abs(found.median_on - date(2026, 7, 4)) <= timedelta(days=3)
    assert found.latest_on is not None and found.latest_on < date(2026, 9, 5)


def test_the_rest_of_a_month_is_its_share() -> None:
    assert list(months_ahead(date(2026, 2, 15), 3)) == [
        Ahead(date(2026, 2, 15), 14, 0.5, 1),
        Ahead(date(2026, 3, 1), 31, 1.0, 2),
        Ahead(date(2026, 4, 1), 30, 1.0, 3),
    ]
    assert [ahead.first for ahead in months_ahead(date(2026, 12, 31), 2)] == [date(2026, 12, 31), date(2027, 1, 1)]


@pytest.mark.parametrize(
    ("remaining", "expected"), [(1, "2026-04-01"), (5, "2026-04-01"), (6, "2026-04-02"), (150, "2026-04-30")]
)
def test_the_day_is_the_one_on_which_nothing_is_left(remaining: int, expected: str) -> None:
    assert expected_on(remaining, TRUE_MEANS, APRIL_1ST, 12) == date.fromisoformat(expected)  # 5 a day in April


def test_a_month_begun_has_only_its_rest_to_give() -> None:
    assert expected_on(75, TRUE_MEANS, date(2026, 4, 16), 12) == date(2026, 4, 30)  # 15 days of 5


def test_beyond_the_horizon_nothing_is_expected() -> None:
    assert expected_on(151, TRUE_MEANS, APRIL_1ST, 1) is None
    assert expected_on(1, [0.0] * 12, APRIL_1ST, 24) is None


# ---- means and spread ----


def test_means_if_counts_scatter_by_counting_alone() -> None:
    # Check value fc.nb_predictive: own example from the stated formula; counts 148, 171, 139.
    counted = Season(totals=(458,) * 12, years=(3,) * 12, spread=NO_SPREAD)
    assert counted.means[0] == pytest.approx(152.8333, abs=0.001)
    assert negative_binomial_quantile(458.5, 0.75, 0.1) == 135
    assert negative_binomial_quantile(458.5, 0.75, 0.9) == 171
    futures = Paths(counted, list(months_ahead(APRIL_1ST, 1)), 1)
    drawn = sorted(amount for number in range(4000) for _, amount in futures.path(number))
    assert quantile(drawn, 1) == pytest.approx(135, abs=1.5)
    assert quantile(drawn, 9) == pytest.approx(171, abs=1.5)


def test_small_counts_are_drawn_as_counts() -> None:
    # The same for 1, 0, 2: a mean of 1.1667 a month.
    counted = Season(totals=(3,) * 12, years=(3,) * 12, spread=NO_SPREAD)
    futures = Paths(counted, list(months_ahead(APRIL_1ST, 1)), 1)
    drawn = sorted(amount for number in range(4000) for _, amount in futures.path(number))
    assert sum(drawn) / len(drawn) == pytest.approx(counted.means[3], rel=0.05)
    for tenths in (1, 5, 9):
        assert quantile(drawn, tenths) == negative_binomial_quantile(3.5, 0.75, tenths / 10)


def test_the_spread_is_found_again() -> None:
    known = season(history(World(7, month_cv=0.3, year_cv=0.2).years(400), before=2400))
    assert known is not None
    assert known.spread.of_months == pytest.approx(0.09, rel=0.1)
    assert known.spread.of_years == pytest.approx(0.04, rel=0.15)
    assert (known.spread.freedom_of_months, known.spread.freedom_of_years) == (9 * 399, 399)  # nine months above 20


def test_a_world_of_pure_counts_has_no_spread() -> None:
    known = season(history(World(7, month_cv=0, year_cv=0).years(400), before=2400))
    assert known is not None
    assert known.spread.of_months == pytest.approx(0, abs=0.002)
    assert known.spread.of_years == pytest.approx(0, abs=0.002)


def test_years_that_are_alike_in_every_month_have_none_of_months() -> None:
    years = [[mean * factor for mean in TRUE_MEANS] for factor in (8, 10, 12)]
    known = season(history(years))
    assert known is not None
    assert known.spread.of_years == pytest.approx(0.04, rel=0.01)  # sample variance of 0.8, 1, 1.2
    assert known.spread.of_months == pytest.approx(0, abs=0.001)


def test_one_month_says_nothing_about_years() -> None:
    one_telling = [MonthlyUsage(year=2025, month=month, amount=100) for month in range(1, 13)]
    one_telling.append(MonthlyUsage(year=2024, month=12, amount=140))
    known = season(one_telling)
    assert known is not None
    assert (known.years[11], known.totals[11]) == (2, 240)
    assert known.spread.of_years == ASSUMED.of_years
    assert known.spread.freedom_of_months == known.spread.freedom_of_years == 1


@pytest.mark.parametrize("years", [[TRUE_MEANS], [[19] * 12] * 3])
def test_where_nothing_tells_the_spread_is_assumed(years: Any) -> None:
    known = season(history(years))
    assert known is not None and known.spread == ASSUMED


def test_a_mean_of_twenty_tells() -> None:
    known = season(history([[20] * 12] * 3))
    assert known is not None
    assert known.spread == Spread(of_months=0.0, of_years=0.0, freedom_of_months=24, freedom_of_years=2)


# ---- little history, and nothing to forecast ----


def test_less_than_a_season_is_not_enough() -> None:
    eleven = [one for one in FIVE_YEARS if one.month != 2]
    for known in ([], FIVE_YEARS[:11], eleven):
        assert forecast(600, known) == Forecast(outlook=Outlook.NOT_ENOUGH_HISTORY, **NOTHING_SAID)
        assert usage_ahead(known, APRIL_1ST, 6) is None


def test_one_season_gives_a_wide_range() -> None:
    one, five = forecast(600, FIVE_YEARS[-12:]), forecast(600)
    assert one.outlook is five.outlook is Outlook.FORECAST
    assert width(one) > 1.5 * width(five)


def test_an_aircraft_that_is_not_used_never_gets_there() -> None:
    hangar_queen = history([[0] * 12] * 3)
    assert forecast(1, hangar_queen) == Forecast(outlook=Outlook.NOT_REACHED, **NOTHING_SAID)


def test_a_far_limit_is_not_reached_within_the_horizon() -> None:
    assert forecast(100_000) == Forecast(outlook=Outlook.NOT_REACHED, **NOTHING_SAID)


def test_the_early_end_is_told_even_if_the_median_is_not_reached() -> None:
    found = forecast(1_250, FIVE_YEARS, horizon_months=6)
    assert found.outlook is Outlook.NOT_REACHED
    assert found.earliest_on is not None and found.median_on is found.latest_on is None


@pytest.mark.parametrize("remaining", [0, -1, -5000])
def test_a_limit_that_is_reached_is_reached_today(remaining: int) -> None:
    for known in (FIVE_YEARS, []):
        found = forecast(remaining, known)
        assert found.outlook is Outlook.REACHED
        assert found.earliest_on == found.median_on == found.latest_on == APRIL_1ST


# ---- what goes in ----


def test_the_running_month_and_later_ones_are_left_out() -> None:
    begun = MonthlyUsage(year=2026, month=4, amount=9_999)
    after = MonthlyUsage(year=2027, month=1, amount=9_999)
    assert forecast(600, [*FIVE_YEARS, begun, after]) == forecast(600)
    assert before([begun, after], date(2026, 5, 1)) == (begun,)


def test_the_order_of_the_history_does_not_matter() -> None:
    assert forecast(600, FIVE_YEARS[::-1]) == forecast(600)
    assert forecast(600, tuple(FIVE_YEARS)) == forecast(600)


def test_a_month_told_twice_is_an_error() -> None:
    with pytest.raises(ValueError, match="told twice"):
        forecast(600, [*FIVE_YEARS, FIVE_YEARS[0]])


@pytest.mark.parametrize("wrong", [{"month": 0}, {"month": 13}, {"amount": -1}])
def test_a_month_that_cannot_be(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="1 to 12 and its usage not negative"):
        replace(FIVE_YEARS[0], **wrong)


# ---- what comes out ----


def test_equal_input_gives_an_equal_forecast() -> None:
    assert forecast(600) == forecast(600)
    assert usage_ahead(FIVE_YEARS, APRIL_1ST, 6) == usage_ahead(FIVE_YEARS, APRIL_1ST, 6)


def test_another_seed_gives_other_futures_of_about_the_same_range() -> None:
    one, other = usage_ahead(FIVE_YEARS, APRIL_1ST, 6), usage_ahead(FIVE_YEARS, APRIL_1ST, 6, seed=2)
    assert one is not None and other is not None and one != other
    assert one.low < one.median < one.high
    assert other.median == pytest.approx(one.median, rel=0.05)


def test_minutes_are_forecast_as_launches_are() -> None:
    minutes = [replace(one, amount=one.amount * 23) for one in FIVE_YEARS]
    by_launches, by_minutes = forecast(600), forecast(600 * 23, minutes)
    assert by_launches.median_on is not None and by_minutes.median_on is not None
    assert abs(by_launches.median_on - by_minutes.median_on) <= timedelta(days=4)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 3000), st.integers(0, 500), st.integers(1, 3), st.dates(date(2026, 1, 1), date(2026, 12, 31)))
def test_more_left_is_never_reached_earlier(remaining: int, more: int, seasons: int, today: date) -> None:
    known = FIVE_YEARS[-12 * seasons :]
    options = {"paths": 40, "horizon_months": 30}
    near, far = forecast(remaining, known, today, **options), forecast(remaining + more, known, today, **options)
    for one, other in (
        (near.earliest_on, far.earliest_on),
        (near.median_on, far.median_on),
        (near.latest_on, far.latest_on),
    ):
        assert (one or date.max) <= (other or date.max)
    assert today <= (near.earliest_on or date.max) <= (near.median_on or date.max) <= (near.latest_on or date.max)


@pytest.mark.parametrize(("count", "expected"), [(1, (0, 0, 0)), (9, (0, 4, 8)), (400, (39, 199, 360))])
def test_quantiles_are_values_that_occur(count: int, expected: tuple[int, ...]) -> None:
    assert tuple(quantile(range(count), tenths) for tenths in (1, 5, 9)) == expected
