"""Civil months."""

from datetime import date
from importlib import import_module

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.airworthiness.due import CalendarRule, add_months, last_of_month
from fleet.airworthiness.due.civil_months import later

relativedelta = import_module("dateutil.relativedelta").relativedelta  # it comes without types


@pytest.mark.parametrize(
    ("start", "count", "expected"),
    [
        # Check values date.relativedelta.1 to .5 and .7: python-dateutil, and the same clipping as Regulation (EEC,
        # Euratom) 1182/71, Article 3(2)(c).
        ("2025-01-31", 1, "2025-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2025-08-31", 6, "2026-02-28"),
        ("2025-12-31", 2, "2026-02-28"),
        # The same, computations.md section 4: a 28th stays a 28th.
        ("2023-02-28", 12, "2024-02-28"),
        ("2026-03-31", -1, "2026-02-28"),
        ("2026-01-15", -1, "2025-12-15"),
        ("2026-01-15", 0, "2026-01-15"),
        ("9999-11-30", 1, "9999-12-30"),  # to the ends of the calendar
        ("0002-01-15", -12, "0001-01-15"),
    ],
)
def test_months_are_clipped_to_the_end_of_the_month(start: str, count: int, expected: str) -> None:
    assert add_months(date.fromisoformat(start), count) == date.fromisoformat(expected)


def test_steps_of_months_are_not_months_at_once() -> None:
    # Check value date.no_chaining: python-dateutil.
    start = date(2025, 1, 31)
    assert add_months(add_months(start, 1), 1) == date(2025, 3, 28)
    assert add_months(start, 2) == date(2025, 3, 31)


@pytest.mark.parametrize(
    ("done_on", "count", "expected"),
    [
        ("2025-06-10", 12, "2026-06-30"),  # check value date.calendar_month_rule: 14 CFR 91.409 wording
        # Standards, section 2, US-CM: FAA handbook, calendar month.
        ("2025-06-05", 12, "2026-06-30"),
        ("2025-06-30", 12, "2026-06-30"),
        ("2023-02-10", 12, "2024-02-29"),
        ("2024-03-05", 24, "2026-03-31"),  # transponder, 14 CFR 91.413(a)
    ],
)
def test_calendar_months_run_to_the_end_of_the_month(done_on: str, count: int, expected: str) -> None:
    reached = later(date.fromisoformat(done_on), 0, count, CalendarRule.CALENDAR_MONTHS)
    assert reached == date.fromisoformat(expected)


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(-600, 600))
def test_it_agrees_with_the_library(start: date, count: int) -> None:
    assert add_months(start, count) == start + relativedelta(months=count)
    assert last_of_month(start) == start + relativedelta(day=31)


@pytest.mark.parametrize(("start", "count"), [(date.max, 1), (date.min, -1)])
def test_the_calendar_ends(start: date, count: int) -> None:
    with pytest.raises(ValueError, match="outside the calendar"):
        add_months(start, count)
