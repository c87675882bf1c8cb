"""Rules about what an open defect touches, and about triage."""

from typing import Any, cast

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.facts import DefectState
from fleet.airworthiness.verdict import Effect, Status
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
STATES: tuple[DefectState, ...] = ("reported", "assessed", "deferred", "rectified")


@pytest.mark.parametrize("state", STATES)
def test_an_open_defect_on_a_critical_item_grounds_in_every_state(state: DefectState) -> None:
    # Check value T71: unassessed defect on a critical code, grounded until assessed (project rule from ML.A.403).
    known = facts(defects=(defect(state=state, item=MAIN_PIN),))
    (reason,) = findings(known, "critical_item_defect")
    assert reason.effect is GROUNDS
    assert reason.message == "Defect 4 (crack near the hinge) is open on a critical item, Wing main pin left."
    assert (reason.subject_type, reason.subject_id, reason.citation) == ("defect", "defect", "ML.A.403(a)")


@pytest.mark.parametrize("one", [defect(), assessed(), deferred(), defect(item=None)])
def test_a_defect_elsewhere_is_no_critical_item_defect(one: Any) -> None:
    assert findings(facts(defects=(one,)), "critical_item_defect") == []


def test_a_critical_item_grounds_from_the_instant_of_the_report() -> None:
    known = facts(defects=(defect(item=MAIN_PIN, reported_at=NOW),))
    assert evaluate(known, NOW).status is Status.GROUNDED


@pytest.mark.parametrize("state", STATES)
def test_a_defect_without_an_item_grounds_in_every_state(state: DefectState) -> None:
    known = facts(defects=(defect(state=state, item=None),))
    (reason,) = findings(known, "unclassified_defect")
    assert reason.effect is GROUNDS
    assert "not assigned to an item" in reason.message


def test_a_defect_with_an_item_is_classified() -> None:
    assert findings(facts(defects=(defect(), defect(item=MAIN_PIN))), "unclassified_defect") == []


@pytest.mark.parametrize("state", ["assessed", "deferred", "rectified"])
@pytest.mark.parametrize("item", [None, MAIN_PIN, defect().item])
def test_a_hazard_grounds_whatever_the_item_and_the_state(state: str, item: Any) -> None:
    # ML.A.403(a): a defect that seriously endangers flight safety is rectified before further flight.
    known = facts(defects=(assessed(state=state, item=item, assessment="hazard"),))
    assert effects(known, "hazard_assessed") == [GROUNDS]


@pytest.mark.parametrize("one", [defect(), assessed()])
def test_no_hazard_without_an_assessment_that_says_so(one: Any) -> None:
    assert findings(facts(defects=(one,)), "hazard_assessed") == []


def test_an_untriaged_defect_limits_and_names_itself_to_the_pilot() -> None:
    known = facts(defects=(defect(description="scratch,\n 40 mm"),))
    (reason,) = findings(known, "untriaged_defect")
    assert reason.effect is LIMITS
    assert reason.message == "Defect 4 (scratch, 40 mm) waits for triage."
    assert reason.limitations == (
        "pilot in command to accept the named defect before flight: defect 4 (scratch, 40 mm)",
    )
    assert evaluate(known, NOW).status is Status.LIMITED


@pytest.mark.parametrize(
    ("limit_days", "age", "expected"),
    [
        (3, 3 * DAY - MOMENT, LIMITS),
        (3, 3 * DAY, GROUNDS),
        (3, 30 * DAY, GROUNDS),
        (1, DAY - MOMENT, LIMITS),
        (1, DAY, GROUNDS),
        (0, 0 * DAY, GROUNDS),
    ],
)
def test_an_untriaged_defect_grounds_from_the_triage_limit_on(limit_days: int, age: Any, expected: Effect) -> None:
    known = facts(policy=policy(triage_limit_days=limit_days), defects=(defect(reported_at=NOW - age),))
    assert effects(known, "untriaged_defect") == [expected]


def test_the_limit_of_triage_is_said_in_days() -> None:
    old = (defect(reported_at=NOW - 9 * DAY),)
    (three,) = findings(facts(defects=old), "untriaged_defect")
    (one,) = findings(facts(defects=old, policy=policy(triage_limit_days=1)), "untriaged_defect")
    assert three.message == "Defect 4 (crack near the hinge) was not triaged within 3 days of its report."
    assert one.message == "Defect 4 (crack near the hinge) was not triaged within 1 day of its report."


def test_the_verdict_holds_until_the_triage_limit() -> None:
    known = facts(defects=(defect(),), last_complete_daily=None)
    assert evaluate(known, NOW).valid_until == NOW + 2 * DAY
    assert evaluate(known, NOW + 2 * DAY).status is Status.GROUNDED


@pytest.mark.parametrize("one", [assessed(), deferred(), rectified(), defect(item=None), defect(item=MAIN_PIN)])
def test_what_is_triaged_or_grounds_by_another_rule_does_not_wait_for_triage(one: Any) -> None:
    assert findings(facts(defects=(one,)), "untriaged_defect") == []


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "released"},
        {"state": ""},
        {"state": None},
        {"state": "assessed", "assessed_at": NOW, "assessment": "no_defect"},
        {"state": "rectified", "assessed_at": NOW, "assessment": ""},
        {"state": "reported", "assessment": "no_hazard"},
        {"state": "reported", "assessment": "hazard"},
    ],
)
@pytest.mark.parametrize("item", [defect().item, MAIN_PIN, None])
def test_a_contradictory_record_grounds(changes: dict[str, Any], item: Any) -> None:
    known = facts(defects=(defect(item=item, **changes),))
    (reason,) = findings(known, "untriaged_defect")
    assert reason.effect is GROUNDS
    assert "contradicts itself" in reason.message


def test_every_defect_has_its_own_reason() -> None:
    listed = [defect(id=str(number), number=number) for number in (1, 2, 3)]
    messages = [reason.message for reason in findings(facts(defects=tuple(listed)), "untriaged_defect")]
    assert [message.split(" (")[0] for message in messages] == ["Defect 1", "Defect 2", "Defect 3"]


def test_an_unknown_state_is_not_excused_by_its_type() -> None:
    # The type says four states; a row of a database can say anything.
    known = facts(defects=(defect(state=cast(DefectState, "parked")),))
    assert evaluate(known, NOW).status is Status.GROUNDED
