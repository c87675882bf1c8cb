"""Due states by comparison."""

from datetime import date
from fractions import Fraction

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due import CALENDAR, Dimension, Limits, Remaining, State
from tests.airworthiness.due_builders import (
    ANNUAL,
    CYCLES,
    DUE_TODAY,
    LAUNCHES,
    MINUTES,
    again,
    days,
    done,
    first,
    h,
    months,
    schedule,
    state,
    usage,
)

NOTHING = Limits(usage=(), calendar=None, unknown=(), finished=False, life_limit=False)


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        ("2026-04-09", "ok"),
        ("2026-04-10", "due_soon"),
        ("2026-05-10", "due_soon"),  # standards, section 9: a date counts through the end of its day
        ("2026-05-11", "in_tolerance"),
        ("2026-06-10", "in_tolerance"),
        ("2026-06-11", "overdue"),
    ],
)
def test_the_states_by_calendar(today: str, expected: str) -> None:
    # Check values T01 to T03: ML.A.302(d)(1), hard limit 2026-06-10.
    assert state(DUE_TODAY, today) == expected


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        (h(1989) - 1, "ok"),
        (h(1989), "due_soon"),
        (h(2000), "due_soon"),
        (h(2000) + 1, "in_tolerance"),
        (h(2010), "in_tolerance"),
        (h(2010) + 1, "overdue"),
    ],
)
def test_the_states_by_usage(minutes: int, expected: str) -> None:
    # Check values T01 and T02: ML.A.302(d)(1), due at 2000.0 h, hard limit 2010.0 h.
    limits = again(schedule(usage(h(100), tolerance=h(10), notice=h(11))), done(minutes=h(1900)))
    assert state(limits, airframe_minutes=minutes) == expected


def test_without_a_notice_it_is_due_soon_at_the_limit_itself() -> None:
    limits = again(schedule(usage(100), days(10)), done("2026-05-01", 0))
    assert state(limits, "2026-05-10", airframe_minutes=99) == "ok"
    assert state(limits, "2026-05-11", airframe_minutes=99) == "due_soon"
    assert state(limits, "2026-05-10", airframe_minutes=100) == "due_soon"


def test_an_annual_in_its_tolerance() -> None:
    # Check value T06: AMC1 ML.A.302(d); that the aircraft may still not fly is the matter of its certificate.
    assert state(DUE_TODAY, "2026-05-25") == "in_tolerance"


def test_a_directive_is_not_overdue_on_its_day() -> None:
    # Check value T11: ML.A.303, due 2026-04-01.
    limits = again(schedule(days(31)), done("2026-03-01"))
    assert (state(limits, "2026-04-01"), state(limits, "2026-04-02")) == ("due_soon", "overdue")


def test_100_hours_are_over_after_100_hours() -> None:
    # Standards, US-409-2: annual at 1000.0 h, hire use at 1099.9 h and at 1100.1 h.
    limits = again(schedule(usage(h(100))), done(minutes=h(1000)))
    assert state(limits, airframe_minutes=h(1099.9)) == "ok"
    assert state(limits, airframe_minutes=h(1100.1)) == "overdue"


def test_a_beacon_battery_after_more_than_an_hour_of_use() -> None:
    # Check value T36: 14 CFR 91.207(c)(1), 1.0 h ok, 1.1 h replace. The minutes are those of the beacon itself.
    limits = again(schedule(usage(60)), done(minutes=0))
    assert state(limits, airframe_minutes=h(1.0)) == "due_soon"
    assert state(limits, airframe_minutes=h(1.1)) == "overdue"


@pytest.mark.parametrize(
    ("launches", "today", "expected"),
    [
        (1985, "2027-04-01", "ok"),  # 3 years and 11 months
        (2000, "2027-04-01", "overdue"),
        (2001, "2027-04-01", "overdue"),  # check value T65: ML.A.503, the limit is an example only
        (1985, "2027-05-01", "due_soon"),
        (1985, "2027-05-02", "overdue"),
    ],
)
def test_a_life_limit_is_reached_at_the_limit_itself(launches: int, today: str, expected: str) -> None:
    # Standards, ML-503-1: limit 2,000 launches or 4 years, whichever is reached first.
    plan = schedule(usage(None, LAUNCHES, first=2000), months(None, first=48), life_limit=True)
    limits = first(plan, done("2023-05-01", launches=0))
    assert state(limits, today, launches=launches) == expected


def test_a_hook_says_what_is_left_in_both() -> None:
    # Standards, section 6, dual limit: installed 2023-05-01, 1,400 launches on 2026-05-01.
    plan = schedule(usage(None, LAUNCHES, first=2000), months(None, first=48), life_limit=True)
    found = due.assess(first(plan, done("2023-05-01", launches=0)), {LAUNCHES: 1400}, date(2026, 5, 1))
    assert {one.measure: one.left for one in found.remaining} == {LAUNCHES: 600, CALENDAR: 365}
    assert found.governing == CALENDAR  # a quarter of its four years, and 30 % of its launches


# ---- unknown ----


@pytest.mark.parametrize("today", ["2026-01-01", "2026-05-01", "2026-06-01"])
def test_a_reading_that_is_not_known_makes_it_unknown(today: str) -> None:
    limits = again(schedule(usage(100), months(12, tolerance=1, notice_days=30)), done("2025-05-10", 0))
    assert state(limits, today) == "unknown"
    assert state(limits, today, launches=5) == "unknown"


def test_overdue_is_known_whatever_else_is_not() -> None:
    limits = again(schedule(usage(100), months(12)), done("2025-05-10", 0))
    assert state(limits, "2026-05-11") == "overdue"


def test_a_limit_that_nobody_could_compute_is_unknown() -> None:
    # Check value T72: ML.A.504(a)(3), a component without history.
    limits = due.limits(ANNUAL, None, None, None)
    found = due.assess(limits, {}, date(2026, 5, 10))
    assert (found.state, found.governing) == (State.UNKNOWN, CALENDAR)
    assert found.remaining == (Remaining(measure=CALENDAR, state=State.UNKNOWN, left=None, share=None),)
    assert state(limits) == "unknown"


def test_no_limits_at_all_are_unknown_unless_the_work_is_finished() -> None:
    assert state(NOTHING) == "unknown"
    assert due.assess(NOTHING, {}, date(2026, 5, 10)).governing is None
    finished = again(schedule(usage(None, first=50)), done(minutes=50))
    assert state(finished) == "ok"
    assert due.assess(finished, {}, date(2026, 5, 10)) == due.DueState(state=State.OK, remaining=(), governing=None)


# ---- what is left, and what governs ----


def test_what_is_left_is_told_in_every_measure() -> None:
    plan = schedule(usage(50, CYCLES), usage(100, tolerance=10), days(10))
    found = due.assess(again(plan, done("2026-05-01", 1000, cycles=7)), {MINUTES: 1105}, date(2026, 5, 9))
    assert found.remaining == (
        Remaining(measure=MINUTES, state=State.IN_TOLERANCE, left=-5, share=Fraction(-1, 20)),
        Remaining(measure=CYCLES, state=State.UNKNOWN, left=None, share=None),
        Remaining(measure=CALENDAR, state=State.OK, left=2, share=Fraction(1, 5)),
    )
    assert (found.state, found.governing) == (State.UNKNOWN, CYCLES)


@pytest.mark.parametrize(
    ("minutes", "launches", "today", "governing"),
    [
        (150, 10, "2026-05-02", MINUTES),  # half of its interval is left, the least
        (110, 60, "2026-05-02", LAUNCHES),
        (110, 10, "2026-05-08", CALENDAR),
        (150, 50, "2026-05-06", MINUTES),  # among equals the first of the dimensions
        (110, 50, "2026-05-06", LAUNCHES),
        (110, 100, "2026-05-10", LAUNCHES),  # both due soon, and nothing is left of the launches
        (199, 10, "2026-05-10", CALENDAR),  # due soon is worse than 1 % left
        (199, 101, "2026-05-11", LAUNCHES),  # overdue is worse than due soon with nothing left
    ],
)
def test_the_worst_state_governs_and_then_the_smallest_share(
    minutes: int, launches: int, today: str, governing: due.Measure
) -> None:
    plan = schedule(usage(100), usage(100, LAUNCHES), days(10, notice_days=1))
    limits = again(plan, done("2026-05-01", 100, launches=0))
    known = {MINUTES: minutes, LAUNCHES: launches}
    assert due.assess(limits, known, date.fromisoformat(today)).governing == governing


def test_the_share_is_of_the_interval_that_counts() -> None:
    limits = first(schedule(usage(100, first=25)), done(minutes=0))
    (left,) = due.assess(limits, {MINUTES: 5}, date(2026, 5, 10)).remaining
    assert left.share == Fraction(20, 25)


def test_readings_may_come_by_the_name_of_the_dimension() -> None:
    limits = again(schedule(usage(100)), done(minutes=0))
    assert state(limits, airframe_minutes=101) == "overdue"
    assert Dimension("airframe_minutes") == "airframe_minutes"
