"""The calendar of the demo."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from config.demo.days import Days
from fleet.airworthiness.flying_day import flying_day

ZONES = ("Europe/Vienna", "Europe/Lisbon", "Pacific/Auckland", "America/Denver")
CLOCKS = ("00:00", "07:50", "08:45", "09:59")
nows = st.integers(0, 9 * 366 * 24 * 3600).map(
    lambda seconds: datetime(2024, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
)


@given(now=nows, zone=st.sampled_from(ZONES))
def test_this_morning_lies_on_todays_flying_day_in_order_and_never_after_now(now: datetime, zone: str) -> None:
    days = Days(now, zone)
    times = [days.this_morning(clock) for clock in CLOCKS]
    assert times == sorted(times)
    assert times[-1] <= now
    assert {flying_day(one, zone) for one in times} == {days.today}


@given(now=nows, zone=st.sampled_from(ZONES), ago=st.integers(1, 400))
def test_an_earlier_day_is_over(now: datetime, zone: str, ago: int) -> None:
    instant = Days(now, zone).ago(ago, "18:50")
    assert instant < now
    assert flying_day(instant, zone) == Days(now, zone).today - timedelta(days=ago)


@given(now=nows, zone=st.sampled_from(ZONES))
def test_what_was_finished_on_a_flying_day_began_on_it(now: datetime, zone: str) -> None:
    begun = Days(now, zone).begun(now, timedelta(minutes=33))
    assert begun <= now
    assert flying_day(begun, zone) == flying_day(now, zone)


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        (datetime(2026, 7, 18, 13, 0, tzinfo=UTC), datetime(2026, 7, 18, 6, 45, tzinfo=UTC)),
        (datetime(2026, 7, 18, 3, 0, tzinfo=UTC), datetime(2026, 7, 18, 2, 22, 30, tzinfo=UTC)),  # half of ten hours
        (datetime(2026, 7, 17, 22, 0, tzinfo=UTC), datetime(2026, 7, 17, 22, 0, tzinfo=UTC)),
    ],
)
def test_the_morning_is_pressed_together_early_in_the_day(now: datetime, expected: datetime) -> None:
    assert Days(now, "Europe/Vienna").this_morning("08:45") == expected


def test_a_day_counts_from_the_flying_day_of_now() -> None:
    assert Days(datetime(2026, 12, 31, 23, 0, tzinfo=UTC), "Europe/Vienna").day(0) == date(2027, 1, 1)
