"""The limits to store when work is signed."""

from datetime import date, timedelta

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due import CALENDAR, CalendarLimit, CalendarRule, Counting, Dimension, Limits, UsageLimit
from tests.airworthiness.due_builders import (
    DEDUCTED,
    FROM_ACTUAL,
    INSIDE,
    LAUNCHES,
    MINUTES,
    SCHEDULED,
    again,
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

# ---- first, every, once ----


def test_the_first_interval_counts_from_the_start() -> None:
    plan = schedule(usage(100, first=25), months(12, first=6), counting=SCHEDULED)
    assert (readings(first(plan, done("2025-05-10", 10)))[0], dates(first(plan, done("2025-05-10", 10)))[0]) == (
        35,
        "2025-11-10",
    )
    later = again(plan, done("2025-11-01", 36), first(plan, done("2025-05-10", 10)))
    assert (readings(later)[0], dates(later)[0]) == (135, "2026-11-10")


def test_without_a_first_interval_the_usual_one_counts() -> None:
    assert readings(first(schedule(usage(100)), done(minutes=10)))[0] == 110


def test_work_to_be_done_once_is_finished_when_done() -> None:
    once = schedule(usage(None, first=50), months(None, first=6))
    assert not first(once, done("2025-05-10", 0)).finished
    limits = again(once, done("2025-06-01", 40))
    assert limits == Limits(usage=(), calendar=None, unknown=(), finished=True, life_limit=False)


def test_one_dimension_may_be_over_while_another_goes_on() -> None:
    limits = again(schedule(usage(None, first=50), months(6)), done("2025-06-01", 40))
    assert (limits.usage, limits.finished, dates(limits)[0]) == ((), False, "2025-12-01")


def test_the_limits_in_full() -> None:
    plan = schedule(usage(100, tolerance=10, notice=20), days(30, tolerance=5, notice_days=7), life_limit=False)
    assert again(plan, done("2026-03-01", 1000)) == Limits(
        usage=(UsageLimit(dimension=MINUTES, notice=1080, due=1100, hard=1110, interval=100),),
        calendar=CalendarLimit(
            notice_on=date(2026, 3, 24),
            due_on=date(2026, 3, 31),
            hard_on=date(2026, 4, 5),
            interval_days=30,
            anchor_on=date(2026, 3, 31),
            months=0,
        ),
        unknown=(),
        finished=False,
        life_limit=False,
    )
    assert again(schedule(usage(100), life_limit=True), done(minutes=0)).life_limit


# ---- unknown ----


def test_without_a_start_and_a_compliance_everything_is_unknown() -> None:
    limits = due.limits(schedule(usage(100), usage(10, LAUNCHES), months(12)), None, None, None)
    assert limits.unknown == (MINUTES, LAUNCHES, CALENDAR)
    assert (limits.usage, limits.calendar, limits.finished) == ((), None, False)


def test_a_reading_that_was_not_recorded_makes_its_dimension_unknown() -> None:
    plan = schedule(usage(100), usage(10, LAUNCHES), months(12), counting=SCHEDULED)
    before = first(plan, done("2024-05-10", 0, launches=0))
    limits = due.limits(plan, done("2024-05-10", 0, launches=0), done("2025-05-10", launches=9), before)
    assert limits.unknown == (MINUTES,)
    assert readings(limits, LAUNCHES) == (20, 20)


# ---- from where the next counts ----


@pytest.mark.parametrize("counting", list(Counting))
def test_without_previous_limits_every_counting_counts_from_where_it_was_done(counting: Counting) -> None:
    plan = schedule(usage(100, tolerance=10), months(12, tolerance=1), counting=counting)
    limits = again(plan, done("2025-05-10", 1000))
    assert (readings(limits)[0], dates(limits)[0]) == (1100, "2026-05-10")
    other = again(schedule(usage(7, LAUNCHES)), done(launches=3))
    assert again(plan, done("2025-05-10", 1000), other) == limits


@pytest.mark.parametrize(
    ("counting", "actual", "expected"),
    [
        (FROM_ACTUAL, 1090, 1190),
        (FROM_ACTUAL, 1107, 1207),
        (INSIDE, 1089, 1189),
        (INSIDE, 1090, 1200),
        (INSIDE, 1110, 1200),
        (INSIDE, 1111, 1211),
        (SCHEDULED, 1049, 1149),  # more than half an interval early
        (SCHEDULED, 1050, 1200),
        (SCHEDULED, 1099, 1200),
        (SCHEDULED, 1100, 1200),
        (SCHEDULED, 1199, 1200),
        (SCHEDULED, 1200, 1300),  # a whole interval was missed, and is not owed
        (SCHEDULED, 1450, 1500),
        (DEDUCTED, 1001, 1101),
        (DEDUCTED, 1100, 1200),
        (DEDUCTED, 1101, 1200),
        (DEDUCTED, 1199, 1200),
        (DEDUCTED, 1200, 1300),
    ],
)
def test_the_four_countings_by_usage(counting: Counting, actual: int, expected: int) -> None:
    plan = schedule(usage(100, tolerance=10), counting=counting)
    assert readings(again(plan, done(minutes=actual), again(plan, done(minutes=1000))))[0] == expected


@pytest.mark.parametrize(
    ("counting", "done_on", "expected"),
    [
        (FROM_ACTUAL, "2026-04-20", "2027-04-20"),
        (FROM_ACTUAL, "2026-05-20", "2027-05-20"),
        (INSIDE, "2026-04-09", "2027-04-09"),
        (INSIDE, "2026-04-10", "2027-05-10"),
        (INSIDE, "2026-06-10", "2027-05-10"),
        (INSIDE, "2026-06-11", "2027-06-11"),
        (SCHEDULED, "2025-11-08", "2026-11-08"),  # 183 of 365 days early
        (SCHEDULED, "2025-11-09", "2027-05-10"),
        (SCHEDULED, "2027-05-09", "2027-05-10"),
        (SCHEDULED, "2027-05-10", "2028-05-10"),
        (SCHEDULED, "2029-01-01", "2029-05-10"),
        (DEDUCTED, "2026-05-09", "2027-05-09"),
        (DEDUCTED, "2026-05-10", "2027-05-10"),
        (DEDUCTED, "2026-05-11", "2027-05-10"),
        (DEDUCTED, "2027-06-01", "2028-05-10"),
    ],
)
def test_the_four_countings_by_calendar(counting: Counting, done_on: str, expected: str) -> None:
    assert dates(again(sailplane(counting), done(done_on), again(sailplane(), done("2025-05-10"))))[0] == expected


@pytest.mark.parametrize(("done_on", "expected"), [("2026-05-05", "2026-05-15"), ("2026-05-06", "2026-05-21")])
def test_half_an_interval_early_still_keeps_the_schedule(done_on: str, expected: str) -> None:
    plan = schedule(days(10), counting=SCHEDULED)
    assert dates(again(plan, done(done_on), again(plan, done("2026-05-01"))))[0] == expected


def test_a_dimension_that_never_governs_does_not_run_away() -> None:
    plan = schedule(usage(h(100)), months(12), counting=SCHEDULED)
    limits, on, minutes = again(plan, done("2026-01-01", 0)), date(2026, 1, 1), 0
    for _ in range(10):  # a hundred hours every four months
        on, minutes = on + timedelta(days=120), minutes + h(100)
        limits = again(plan, done(on, minutes), limits)
        assert limits.calendar is not None
        assert limits.calendar.due_on <= on + timedelta(days=366)


# ---- months are never counted from a clipped date ----


def test_the_schedule_keeps_the_day_of_its_anchor() -> None:
    plan = schedule(months(1), counting=SCHEDULED)
    limits, seen = again(plan, done("2025-01-31")), []
    for _ in range(4):
        assert limits.calendar is not None
        seen.append(limits.calendar.due_on.isoformat())
        limits = again(plan, done(limits.calendar.due_on), limits)
    assert seen == ["2025-02-28", "2025-03-31", "2025-04-30", "2025-05-31"]


@pytest.mark.parametrize(
    ("counting", "expected"),
    [(FROM_ACTUAL, "2025-03-28"), (INSIDE, "2025-03-31"), (SCHEDULED, "2025-03-31"), (DEDUCTED, "2025-03-31")],
)
def test_work_done_on_its_day_keeps_the_schedule(counting: Counting, expected: str) -> None:
    plan = schedule(months(1), counting=counting)
    assert dates(again(plan, done("2025-02-28"), again(plan, done("2025-01-31"))))[0] == expected


def test_months_of_tolerance_are_added_to_those_of_the_interval() -> None:
    plan = schedule(months(1, tolerance=1))
    assert dates(again(plan, done("2025-01-31"))) == ("2025-02-28", "2025-03-31")  # as date.no_chaining
    to_the_end = schedule(months(12, tolerance=1, tolerance_rule=CalendarRule.CALENDAR_MONTHS))
    assert dates(again(to_the_end, done("2025-05-10"))) == ("2026-05-10", "2026-06-30")


@pytest.mark.parametrize(
    ("rule", "tolerance_rule", "expected"),
    [
        (CalendarRule.CALENDAR_MONTHS, CalendarRule.DAYS, ("2026-06-30", "2026-07-01")),
        (CalendarRule.CALENDAR_MONTHS, CalendarRule.MONTHS, ("2026-06-30", "2026-07-30")),
        (CalendarRule.CALENDAR_MONTHS, CalendarRule.CALENDAR_MONTHS, ("2026-06-30", "2026-07-31")),
        (CalendarRule.MONTHS, CalendarRule.DAYS, ("2026-06-10", "2026-06-11")),
        (CalendarRule.DAYS, CalendarRule.MONTHS, ("2025-06-22", "2025-07-22")),
        (CalendarRule.DAYS, CalendarRule.DAYS, ("2025-06-22", "2025-06-23")),
    ],
)
def test_a_tolerance_has_a_rule_of_its_own(rule: CalendarRule, tolerance_rule: CalendarRule, expected: object) -> None:
    interval = due.CalendarInterval(rule=rule, every=12, tolerance=1, tolerance_rule=tolerance_rule)
    assert dates(again(schedule(interval), done("2025-06-10"))) == expected


def test_without_a_tolerance_its_rule_changes_nothing() -> None:
    plan = schedule(months(12, tolerance_rule=CalendarRule.CALENDAR_MONTHS))
    assert dates(again(plan, done("2025-05-10"))) == ("2026-05-10", "2026-05-10")


@pytest.mark.parametrize(
    ("rule", "every", "expected"),
    [
        (CalendarRule.MONTHS, 6, "2026-08-31"),  # six months after the anchor's twelve
        (CalendarRule.CALENDAR_MONTHS, 6, "2026-08-31"),
        (CalendarRule.DAYS, 30, "2026-03-30"),
    ],
)
def test_a_task_may_change_its_rule_while_it_runs(rule: CalendarRule, every: int, expected: str) -> None:
    anchored = again(schedule(months(12), counting=SCHEDULED), done("2024-08-31"))
    anchored = again(schedule(months(6), counting=SCHEDULED), done("2025-08-31"), anchored)
    assert dates(anchored)[0] == "2026-02-28"
    plan = schedule(due.CalendarInterval(rule=rule, every=every), counting=SCHEDULED)
    assert dates(again(plan, done("2026-02-28"), anchored))[0] == expected


def test_days_go_on_from_days() -> None:
    plan = schedule(days(30), counting=SCHEDULED)
    limits = again(plan, done("2026-01-31"), again(plan, done("2026-01-01")))
    assert dates(limits)[0] == "2026-03-02"


# ---- stored limits ----


@pytest.mark.parametrize(
    "wrong", [{"notice": 11}, {"hard": 9}, {"interval": 0}, {"notice": 12, "due": 11}, {"due": 13, "hard": 12}]
)
def test_limits_by_usage_that_contradict_each_other(wrong: dict[str, int]) -> None:
    right = {"notice": 10, "due": 10, "hard": 10, "interval": 1}
    UsageLimit(dimension=Dimension.CYCLES, **right)
    with pytest.raises(ValueError, match="contradict each other"):
        UsageLimit(dimension=Dimension.CYCLES, **right | wrong)


@pytest.mark.parametrize(("notice", "due_on", "hard", "interval"), [(2, 1, 1, 1), (1, 2, 1, 1), (1, 1, 1, 0)])
def test_limits_by_calendar_that_contradict_each_other(notice: int, due_on: int, hard: int, interval: int) -> None:
    def limit(notice: int, due_on: int, hard: int, interval: int) -> CalendarLimit:
        day = date(2026, 5, due_on)
        return CalendarLimit(
            notice_on=date(2026, 5, notice),
            due_on=day,
            hard_on=date(2026, 5, hard),
            interval_days=interval,
            anchor_on=day,
            months=0,
        )

    limit(1, 1, 1, 1)
    with pytest.raises(ValueError, match="contradict each other"):
        limit(notice, due_on, hard, interval)
