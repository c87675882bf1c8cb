"""Schedules that make no sense are refused."""

from collections.abc import Callable
from typing import Any

import pytest

from fleet.airworthiness.due import CalendarInterval, CalendarRule, UsageInterval
from tests.airworthiness.due_builders import LAUNCHES, MINUTES, months, schedule, usage


@pytest.mark.parametrize("make", [lambda **wrong: usage(**wrong), lambda **wrong: months(**wrong)])
@pytest.mark.parametrize(
    ("wrong", "match"),
    [
        ({"every": None}, "is empty: give the first"),
        ({"every": 0}, "must be at least 1"),
        ({"every": 10, "first": 0}, "must be at least 1"),
        ({"every": -1, "first": 5}, "must be at least 1"),
        ({"every": 10, "tolerance": -1}, "must not be negative"),
    ],
)
def test_an_interval_that_cannot_be(make: Callable[..., Any], wrong: dict[str, Any], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        make(**wrong)


def test_a_notice_is_not_negative() -> None:
    with pytest.raises(ValueError, match="by launches must not be negative"):
        usage(10, LAUNCHES, notice=-1)
    with pytest.raises(ValueError, match="by calendar must not be negative"):
        months(10, notice_days=-1)


def test_a_task_without_an_interval_would_never_be_due() -> None:
    with pytest.raises(ValueError, match="at least one interval"):
        schedule()


def test_a_dimension_has_one_interval() -> None:
    with pytest.raises(ValueError, match="at most one interval in each dimension"):
        schedule(usage(10), usage(20))
    assert len(schedule(usage(10), usage(20, LAUNCHES)).usage) == 2


@pytest.mark.parametrize("interval", [usage(10, tolerance=1), months(10, tolerance=1)])
def test_a_life_limit_has_no_tolerance(interval: Any) -> None:
    # ML.A.503; the domain's rule that life limits have none.
    with pytest.raises(ValueError, match="no tolerance"):
        schedule(interval, life_limit=True)
    assert schedule(interval).life_limit is False


def test_what_is_not_stated_is_none() -> None:
    # Standards, ML-302-6: a task without a stated tolerance has none.
    by_usage = UsageInterval(dimension=MINUTES, every=10)
    by_calendar = CalendarInterval(rule=CalendarRule.DAYS, every=10)
    assert (by_usage.first, by_usage.tolerance, by_usage.notice) == (None, 0, 0)
    assert (by_calendar.first, by_calendar.tolerance, by_calendar.notice_days) == (None, 0, 0)
