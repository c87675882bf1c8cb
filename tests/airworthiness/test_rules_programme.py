"""Rules about tasks that are due."""

from datetime import UTC, date, datetime
from itertools import pairwise
from typing import Any

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due import CalendarRule, Dimension, Done, Limits
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules.components import LIFE_LIMIT_REACHED
from fleet.airworthiness.rules.programme import TASK_DUE_SOON, TASK_IN_TOLERANCE, TASK_OVERDUE, TASK_UNKNOWN
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import DAY, MOMENT, NOW
from tests.airworthiness.due_builders import (
    ANNUAL,
    DUE_TODAY,
    LAUNCHES,
    MINUTES,
    Known,
    again,
    done,
    first,
    found,
    h,
    item,
    months,
    part,
    schedule,
    turns,
    usage,
)

RULES: list[Rule] = [TASK_OVERDUE, TASK_IN_TOLERANCE, TASK_DUE_SOON, TASK_UNKNOWN, LIFE_LIMIT_REACHED]
GROUNDS, ADVISES = Effect.GROUNDS, Effect.ADVISES
NO_START = due.limits(ANNUAL, None, None, None)
MIXED = again(
    schedule(
        usage(h(100), tolerance=h(10)), usage(50, LAUNCHES), months(12, tolerance=10, tolerance_rule=CalendarRule.DAYS)
    ),
    done("2025-05-10", h(1900), launches=1000),
)


def outcome(fact: Any, now: datetime = NOW) -> list[tuple[str, Effect]]:
    """Everything that the rules about due items find."""
    known = Known(due=(fact,))
    return [(reason.rule, reason.effect) for rule in RULES for reason in found(rule, known, now)]


@pytest.mark.parametrize(
    ("later", "mandatory", "advisory"),
    [
        (-31, [], []),
        (-30, [("task_due_soon", ADVISES)], [("task_due_soon", ADVISES)]),
        (0, [("task_due_soon", ADVISES)], [("task_due_soon", ADVISES)]),
        (1, [("task_in_tolerance", ADVISES)], [("task_in_tolerance", ADVISES)]),
        (31, [("task_in_tolerance", ADVISES)], [("task_in_tolerance", ADVISES)]),
        (32, [("task_overdue", GROUNDS)], [("task_overdue", ADVISES)]),
    ],
)
def test_what_a_task_does_as_time_goes_by(later: int, mandatory: Any, advisory: Any) -> None:
    # Check values T03 and T06: ML.A.302(d)(1), AMC1 ML.A.302(d). Due on 2026-05-10, a month of tolerance.
    now = NOW + later * DAY
    assert outcome(item(DUE_TODAY), now) == mandatory
    assert outcome(item(DUE_TODAY, mandatory=False), now) == advisory


def test_one_rule_speaks_for_each_state() -> None:
    assert outcome(item(DUE_TODAY, known=False)) == [("task_unknown", GROUNDS)]
    assert outcome(item(DUE_TODAY, known=False), NOW + 400 * DAY) == [("task_unknown", GROUNDS)]
    assert outcome(item(NO_START)) == [("task_unknown", GROUNDS)]
    assert outcome(item(NO_START, mandatory=False)) == [("task_unknown", ADVISES)]
    assert outcome(item(MIXED)) == [("task_unknown", GROUNDS)]
    assert outcome(item(MIXED), NOW + 11 * DAY) == [("task_overdue", GROUNDS)]


def test_the_day_ends_by_the_clock_of_the_club() -> None:
    midnight = datetime(2026, 6, 10, 22, 0, tzinfo=UTC)  # 00:00 on the 11th in Berlin
    assert outcome(item(DUE_TODAY), midnight - MOMENT) == [("task_in_tolerance", ADVISES)]
    assert outcome(item(DUE_TODAY), midnight) == [("task_overdue", GROUNDS)]


def test_sentences_by_date() -> None:
    (soon,) = found(TASK_DUE_SOON, Known(due=(item(DUE_TODAY),)))
    (tolerated,) = found(TASK_IN_TOLERANCE, Known(due=(item(DUE_TODAY),)), NOW + DAY)
    (overdue,) = found(TASK_OVERDUE, Known(due=(item(DUE_TODAY),)), NOW + 40 * DAY)
    assert soon.message == "Annual inspection: due soon, by the end of 2026-05-10."
    assert tolerated.message == (
        "Annual inspection: inside its tolerance, it was due by the end of 2026-05-10;"
        " with its tolerance by the end of 2026-06-10."
    )
    assert overdue.message == (
        "Annual inspection: overdue, it was due by the end of 2026-05-10; with its tolerance by the end of 2026-06-10."
    )
    assert (overdue.subject_type, overdue.subject_id) == ("task", "task")


def test_sentences_by_usage_name_the_component() -> None:
    known = Known(due=(part(MIXED, title="Overhaul", readings={MINUTES: h(2010) + 1, LAUNCHES: 1001}),))
    (overdue,) = found(TASK_OVERDUE, known)
    assert overdue.message == (
        "Overhaul, tow release 0815: overdue, it was due by the end of 2026-05-10 or at 2000:00 h of flight or at 1050"
        " launches, whichever comes first; with its tolerance by the end of 2026-05-20 or at 2010:00 h of flight or at"
        " 1050 launches, whichever comes first."
    )


def test_without_a_tolerance_none_is_told() -> None:
    limits = again(schedule(usage(h(100))), done(minutes=h(1900)))
    (overdue,) = found(TASK_OVERDUE, Known(due=(item(limits, readings={MINUTES: h(2001)}),)))
    assert overdue.message == "Annual inspection: overdue, it was due at 2000:00 h of flight."


@pytest.mark.parametrize(
    ("dimension", "amount", "words"),
    [
        (Dimension.AIRFRAME_MINUTES, 61, "1:01 h of flight"),
        (Dimension.LAUNCHES, 1, "1 launch"),
        (Dimension.LAUNCHES, 2, "2 launches"),
        (Dimension.LANDINGS, 1, "1 landing"),
        (Dimension.LANDINGS, 3, "3 landings"),
        (Dimension.ENGINE_MINUTES, 600, "10:00 h of the engine"),
        (Dimension.ENGINE_STARTS, 9, "9 engine starts"),
        (Dimension.CYCLES, 1, "1 cycle"),
    ],
)
def test_every_dimension_has_words(dimension: Dimension, amount: int, words: str) -> None:
    limits = again(schedule(usage(amount, dimension)), Done(on=NOW.date(), readings={dimension: 0}))
    (soon,) = found(TASK_DUE_SOON, Known(due=(item(limits, readings={dimension: amount}),)))
    assert soon.message == f"Annual inspection: due soon, at {words}."


@pytest.mark.parametrize(
    ("fact", "message", "cure"),
    [
        (
            item(NO_START, known=False),
            "Annual inspection: nothing is recorded from which to count.",
            "Record when it was last done, or have it done and record it.",
        ),
        (
            item(Limits(usage=(), calendar=None, unknown=(), finished=False, life_limit=False)),
            "Annual inspection: nothing is recorded from which to count.",
            "Record when it was last done, or have it done and record it.",
        ),
        (
            item(again(schedule(usage(100), usage(9, LAUNCHES)), done(cycles=1))),
            "Annual inspection: the flight time and number of launches it counts from is not recorded.",
            "Record the readings at which it was last done.",
        ),
        (
            item(MIXED, readings={LAUNCHES: 1000}),
            "Annual inspection: the present flight time is not known.",
            "Record the usage.",
        ),
    ],
)
def test_what_is_unknown_is_said(fact: Any, message: str, cure: str) -> None:
    (reason,) = found(TASK_UNKNOWN, Known(due=(fact,)))
    assert (reason.message, reason.cure) == (message, cure)


def test_work_that_was_to_be_done_once_is_not_told_any_more() -> None:
    once = schedule(usage(None, first=50), months(None, first=6))
    assert outcome(item(first(once, done("2025-05-10", 0)), readings={MINUTES: 10})) == [("task_overdue", GROUNDS)]
    assert outcome(item(again(once, done("2025-06-01", 40)))) == []


def test_the_findings_hold_between_the_turns() -> None:
    life = again(schedule(months(12, notice_days=10), life_limit=True), done("2025-05-12"))
    known = Known(due=(item(DUE_TODAY), item(MIXED), part(life), item(NO_START), item(DUE_TODAY, mandatory=False)))
    for rule in RULES:
        edges = sorted(turn for turn in turns(rule, known) if turn > NOW - 60 * DAY)
        edges = [NOW - 60 * DAY, *edges, NOW + 200 * DAY]
        for begins, ends in pairwise(edges):
            if begins < ends:
                assert found(rule, known, begins) == found(rule, known, ends - MOMENT)


def test_only_dates_turn() -> None:
    by_usage = again(schedule(usage(100)), done(minutes=0))
    assert all(list(turns(rule, Known(due=(item(by_usage),)))) == [] for rule in RULES)


def test_the_state_follows_the_flying_day() -> None:
    assert item(DUE_TODAY).state(date(2026, 6, 11)) is due.State.OVERDUE
    assert item(DUE_TODAY, known=False).state(date(2026, 6, 11)) is due.State.UNKNOWN
