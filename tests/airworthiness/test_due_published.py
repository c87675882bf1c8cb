"""Limits as published rules count them."""

from datetime import date

import pytest

from fleet.airworthiness.due import CalendarRule
from fleet.airworthiness.due.by_calendar import window
from tests.airworthiness.due_builders import (
    DEDUCTED,
    INSIDE,
    SCHEDULED,
    aeroplane,
    again,
    calendar_months,
    dates,
    days,
    done,
    first,
    h,
    months,
    readings,
    sailplane,
    schedule,
    usage,
)


def test_aeroplane_annual_or_100_hours() -> None:
    # Check values T01 and T02: ML.A.302(d)(1).
    limits = again(aeroplane(), done("2025-05-10", h(1900)))
    assert dates(limits) == ("2026-05-10", "2026-06-10")
    assert readings(limits) == (h(2000), h(2010))


def test_sailplane_annual_without_a_limit_in_hours() -> None:
    # Check value T03: ML.A.302(d)(1), GM1 ML.A.302(c)(3), read in part.
    limits = again(sailplane(), done("2025-05-10", h(300)))
    assert dates(limits) == ("2026-05-10", "2026-06-10")
    assert limits.usage == ()


def test_the_next_interval_counts_from_when_the_inspection_takes_place() -> None:
    # Check value T04: AMC1 ML.A.302(d).
    previous = again(aeroplane(), done("2025-05-10", h(1900)))
    limits = again(aeroplane(), done("2026-06-05", h(2008)), previous)
    assert (dates(limits)[0], readings(limits)[0]) == ("2027-06-05", h(2108))
    early = again(sailplane(), done("2026-03-20"), previous)
    assert dates(early)[0] == "2027-03-20"  # standards, ML-302-3


def test_the_next_interval_counts_from_the_scheduled_point() -> None:
    # Check value T05: the minimum inspection programme of Part-M of 2015, standards ML-302-3.
    previous = again(aeroplane(SCHEDULED), done("2025-05-10", h(1900)))
    limits = again(aeroplane(SCHEDULED), done("2026-06-05", h(2008)), previous)
    assert (dates(limits)[0], readings(limits)[0]) == ("2027-05-10", h(2100))


def test_sailplane_annual_in_its_tolerance() -> None:
    # Check value life.part_ml_mip: ML.A.302(d)(1); rule read, printed result from memory, reproduced.
    previous = again(sailplane(), done("2025-05-31"))
    assert dates(previous) == ("2026-05-31", "2026-06-30")
    assert dates(again(sailplane(), done("2026-06-20"), previous))[0] == "2027-06-20"


def test_100_hours_overflown_are_deducted() -> None:
    # Check value T32: 14 CFR 91.409(b); the early case: standards, US-409-3.
    plan = schedule(usage(h(100)), counting=DEDUCTED)
    previous = again(plan, done(minutes=h(1900)))
    assert readings(previous)[0] == h(2000)
    assert readings(again(plan, done(minutes=h(2008)), previous))[0] == h(2100)
    assert readings(again(plan, done(minutes=h(1990)), previous))[0] == h(2090)


def test_outside_the_window_the_next_counts_from_the_actual_point() -> None:
    # Check value life.window.hours_outside: US Army TM 1-1500-328-23. Window 1301.4 to 1311.4.
    plan = schedule(usage(h(50), tolerance=h(5)), counting=INSIDE)
    previous = again(plan, done(minutes=h(1256.4)))
    assert readings(previous) == (h(1306.4), h(1311.4))
    assert readings(again(plan, done(minutes=h(1299.9)), previous))[0] == h(1349.9)


def test_inside_the_window_the_next_counts_from_the_scheduled_point() -> None:
    # computations.md, section 4: US Army TM 1-1500-328-23, due 1609.4, window 1604.4 to 1614.4, next 1684.4.
    plan = schedule(usage(h(75), tolerance=h(5)), counting=INSIDE)
    previous = again(plan, done(minutes=h(1534.4)))
    for inside in (h(1604.4), h(1609.4), h(1614.4)):
        assert readings(again(plan, done(minutes=inside), previous))[0] == h(1684.4)
    for outside in (h(1604.4) - 1, h(1614.4) + 1):
        assert readings(again(plan, done(minutes=outside), previous))[0] == outside + h(75)


def test_a_window_by_calendar() -> None:
    # Check values life.window.six_months and life.window.twelve_months: US Army TM 1-1500-328-23, calendar windows.
    six = schedule(months(6, tolerance=18, tolerance_rule=CalendarRule.DAYS), counting=INSIDE)
    previous = again(six, done("1998-07-31"))
    assert six.calendar is not None and previous.calendar is not None
    assert previous.calendar.due_on == date(1999, 1, 31)
    assert window(six.calendar, previous.calendar) == (date(1999, 1, 13), date(1999, 2, 18))
    for inside in ("1999-01-13", "1999-01-31", "1999-02-18"):
        assert dates(again(six, done(inside), previous))[0] == "1999-07-31"
    assert dates(again(six, done("1999-01-12"), previous))[0] == "1999-07-12"
    assert dates(again(six, done("1999-02-19"), previous))[0] == "1999-08-19"
    twelve = months(12, tolerance=30, tolerance_rule=CalendarRule.DAYS)
    limit = again(schedule(twelve), done("1998-02-06")).calendar
    assert limit is not None
    assert window(twelve, limit) == (date(1999, 1, 7), date(1999, 3, 8))


@pytest.mark.parametrize(
    ("count", "done_on", "expected"),
    [
        (12, "2025-06-05", "2026-06-30"),  # check value T29: 14 CFR 91.409(a)
        (24, "2024-02-29", "2026-02-28"),  # check value T30: 14 CFR 91.411, 91.413
        (12, "2025-04-10", "2026-04-30"),  # check value T38: 14 CFR 91.207(d)
        (60, "2021-06-01", "2026-06-30"),  # check value T63: 49 CFR 180.209; end of month from memory, reproduced
        (60, "2021-06-30", "2026-06-30"),
        (36, "2023-08-15", "2026-08-31"),  # check value T64: 49 CFR 180.209; end of month from memory, reproduced
    ],
)
def test_limits_in_calendar_months(count: int, done_on: str, expected: str) -> None:
    assert dates(again(schedule(calendar_months(count)), done(done_on))) == (expected, expected)


def test_half_the_useful_life_of_a_beacon_battery() -> None:
    # Check value T37: 14 CFR 91.207(c)(2), 50 % of 10 years.
    assert dates(first(schedule(months(60)), done("2020-01-15")))[0] == "2025-01-15"


@pytest.mark.parametrize(("count", "expected"), [(180, "2025-06-30"), (60, "2025-03-02")])
def test_a_parachute_is_repacked_after_days(count: int, expected: str) -> None:
    # Check value T66 and its natural fibre: 14 CFR 91.307, from memory, reproduced.
    assert dates(again(schedule(days(count)), done("2025-01-01")))[0] == expected
