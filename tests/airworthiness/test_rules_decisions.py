"""The rule about assessed defects that nobody has decided about."""

from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import (
    DAY,
    MAIN_PIN,
    MOMENT,
    NOW,
    assessed,
    defect,
    deferred,
    effects,
    facts,
    findings,
    policy,
    rectified,
)

GROUNDS, LIMITS = Effect.GROUNDS, Effect.LIMITS


def test_an_assessed_defect_limits_and_names_itself_to_the_pilot() -> None:
    (reason,) = findings(facts(defects=(assessed(),)), "assessed_defect")
    assert reason.effect is LIMITS
    assert reason.message.endswith("was assessed as no hazard, and is neither deferred nor rectified yet.")
    assert reason.limitations == (
        "pilot in command to accept the named defect before flight: defect 4 (crack near the hinge)",
    )


@pytest.mark.parametrize(
    ("limit_days", "age", "expected"),
    [
        (7, 7 * DAY - MOMENT, LIMITS),
        (7, 7 * DAY, GROUNDS),
        (1, DAY, GROUNDS),
        (0, 0 * DAY, GROUNDS),
    ],
)
def test_an_assessed_defect_grounds_from_the_decision_limit_on(limit_days: int, age: Any, expected: Effect) -> None:
    known = facts(policy=policy(decision_limit_days=limit_days), defects=(assessed(assessed_at=NOW - age),))
    assert effects(known, "assessed_defect") == [expected]


def test_the_decision_limit_counts_from_the_assessment_and_not_from_the_report() -> None:
    known = facts(defects=(assessed(reported_at=NOW - 90 * DAY, assessed_at=NOW - DAY),))
    assert effects(known, "assessed_defect") == [LIMITS]
    (late,) = findings(known, "assessed_defect", NOW + 6 * DAY)
    assert late.message.endswith("was neither deferred nor rectified within 7 days of its assessment.")


def test_the_verdict_holds_until_the_decision_limit() -> None:
    known = facts(defects=(assessed(assessed_at=NOW - 6 * DAY, reported_at=NOW - 6 * DAY),))
    at_midnight = evaluate(known, NOW).valid_until  # the flying day ends first
    assert at_midnight is not None and at_midnight < NOW + DAY
    assert evaluate(known, at_midnight).valid_until == NOW + DAY


@pytest.mark.parametrize("state", ["assessed", "deferred"])
@pytest.mark.parametrize("missing", ["assessed_at", "assessment"])
@pytest.mark.parametrize("item", [None, MAIN_PIN, defect().item])
def test_an_assessment_that_is_not_on_record_grounds(state: str, missing: str, item: Any) -> None:
    known = facts(defects=(assessed(**{"state": state, "item": item, missing: None}),))
    (reason,) = findings(known, "assessed_defect")
    assert reason.effect is GROUNDS
    assert reason.message.endswith(f"counts as {state}, but its assessment is not on record.")


@pytest.mark.parametrize(
    "one",
    [
        defect(),
        deferred(),
        rectified(item=defect().item),
        assessed(assessment="hazard"),
        assessed(item=None),
        assessed(item=MAIN_PIN),
    ],
)
def test_other_defects_do_not_wait_for_a_decision(one: Any) -> None:
    assert findings(facts(defects=(one,)), "assessed_defect") == []
