"""The rule about items that fail repeatedly."""

from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.facts import UsageFact
from fleet.airworthiness.rules.repeats import repeats_within
from fleet.airworthiness.verdict import Effect, Status
from tests.airworthiness.builders import DAY, MOMENT, NOW, effects, facts, failures, findings, policy

ADVISES = [Effect.ADVISES]
RECENT = NOW - DAY
LONG_AGO = (NOW - 900 * DAY, NOW - 600 * DAY, NOW - 300 * DAY)


def test_three_times_in_fifteen_flights() -> None:
    # Check value rel.repeat.3_in_15: an operator's example quoted by a training body; flights 4 to 18 hold 9, 17, 18.
    assert repeats_within([2, 9, 17, 18, 40], 3, 15) == (18,)


@pytest.mark.parametrize(
    ("numbers", "count", "window", "expected"),
    [
        ([], 3, 15, ()),
        ([1, 2], 3, 15, ()),
        ([1, 2, 15], 3, 15, (15,)),
        ([1, 2, 16], 3, 15, ()),
        ([15, 1, 2], 3, 15, (15,)),
        ([1, 2, 3, 4], 3, 15, (3, 4)),
        ([5, 5, 5], 3, 15, (5,)),
        ([5, 5, 5, 5], 3, 15, (5,)),
        ([5, 5], 3, 15, ()),
        ([7, 30], 1, 1, (7, 30)),
        ([7, 8], 2, 1, ()),
        ([7, 8], 2, 2, (8,)),
    ],
)
def test_the_window_of_flights_includes_both_ends(numbers: Any, count: int, window: int, expected: Any) -> None:
    assert repeats_within(numbers, count, window) == expected


@pytest.mark.parametrize(("count", "window"), [(0, 15), (-1, 15), (3, 0), (3, -1)])
def test_settings_that_make_no_sense_are_refused(count: int, window: int) -> None:
    with pytest.raises(ValueError, match="at least 1: correct the settings"):
        repeats_within([1, 2, 3], count, window)


@pytest.mark.parametrize(
    ("failed_at", "expected"),
    [
        ((RECENT, RECENT, RECENT), ADVISES),
        ((RECENT, RECENT), []),
        ((NOW, NOW, NOW), ADVISES),
        ((NOW - 30 * DAY + MOMENT, RECENT, RECENT), ADVISES),
        ((NOW - 30 * DAY, RECENT, RECENT), []),
        (LONG_AGO, []),
    ],
)
def test_failures_within_the_last_days_advise(failed_at: Any, expected: Any) -> None:
    assert effects(facts(item_failures=(failures(*failed_at),)), "repeat_defect") == expected


def test_the_verdict_holds_until_the_first_failure_leaves_the_window() -> None:
    known = facts(item_failures=(failures(NOW - 29 * DAY, RECENT, RECENT),), last_complete_daily=None)
    verdict = evaluate(known, NOW)
    assert verdict.valid_until == NOW + DAY
    assert effects(known, "repeat_defect", NOW + DAY - MOMENT) == ADVISES
    assert effects(known, "repeat_defect", NOW + DAY) == []


@pytest.mark.parametrize(
    ("flights", "launches", "expected"),
    [
        ((1_986, 1_990, 2_000), 2_000, ADVISES),
        ((1_985, 1_990, 2_000), 2_000, []),
        ((1_986, 1_990, 2_000), 2_014, ADVISES),
        ((1_986, 1_990, 2_000), 2_015, []),
        ((1_986, 1_990, 2_000), None, ADVISES),
        ((1_986, None, 1_990, 2_000), 2_000, ADVISES),
        ((1_986, None, 2_000), 2_000, []),
        ((None, None, None), 2_000, []),
    ],
)
def test_failures_within_the_last_flights_advise(flights: Any, launches: int | None, expected: Any) -> None:
    usage = None if launches is None else UsageFact(airframe_minutes=60_000, launches=launches)
    known = facts(item_failures=(failures(*LONG_AGO, flights=flights),), usage=usage)
    assert effects(known, "repeat_defect") == expected


def test_the_settings_of_the_club_decide() -> None:
    club = policy(repeat_count=2, repeat_within_days=10, repeat_within_flights=5)
    known = facts(policy=club, item_failures=(failures(RECENT, RECENT),))
    (reason,) = findings(known, "repeat_defect")
    assert reason.message == "Canopy has been reported defective at least 2 times within 10 days or 5 flights."
    assert (reason.subject_type, reason.subject_id) == ("item", "CAN-01")
    few_flights = facts(policy=club, item_failures=(failures(*LONG_AGO, flights=(1_996, 2_000)),))
    assert effects(few_flights, "repeat_defect") == ADVISES


def test_advice_leaves_the_status_alone() -> None:
    verdict = evaluate(facts(item_failures=(failures(RECENT, RECENT, RECENT),)), NOW)
    assert (verdict.status, verdict.ready_today) == (Status.SERVICEABLE, True)


def test_impossible_settings_ground_instead_of_switching_the_rule_off() -> None:
    verdict = evaluate(facts(policy=policy(repeat_count=0), item_failures=(failures(RECENT),)), NOW)
    assert verdict.status is Status.GROUNDED
    assert verdict.errors[0].startswith("repeat_defect: ValueError: ")
