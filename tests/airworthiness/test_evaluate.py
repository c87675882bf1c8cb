"""How the findings of all rules become one verdict."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate, unassessable
from fleet.airworthiness.facts import Facts
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.rules import RULES
from fleet.airworthiness.rules.defects import CRITICAL_ITEM_DEFECT
from fleet.airworthiness.verdict import Effect, Reason, Status, as_json
from tests.airworthiness.builders import (
    DAY,
    MAIN_PIN,
    MOMENT,
    NOW,
    assessed,
    defect,
    deferred,
    facts,
    failures,
    occurrence,
    rigging,
)


class Surprise(Exception):
    """Nothing that any rule expects."""


def rule(**changes: Any) -> Rule:
    """A rule that finds nothing, but for the changes."""
    quiet = Rule(code="odd", title="Odd", effects=(Effect.ADVISES,), citation="none", judge=lambda *_: (), turns=never)
    return replace(quiet, **changes)


def raising(*_: Any) -> Any:
    raise Surprise("out of the blue")


def test_an_aircraft_with_nothing_the_matter() -> None:
    verdict = evaluate(facts(), NOW)
    assert verdict.status is Status.SERVICEABLE
    assert verdict.ready_today is True
    assert (verdict.reasons, verdict.limitations, verdict.errors, verdict.open_defects) == ((), (), (), 0)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"item_failures": (failures(NOW, NOW, NOW),)}, Status.SERVICEABLE),
        ({"item_failures": (failures(NOW, NOW, NOW),), "defects": (defect(),)}, Status.LIMITED),
        ({"defects": (defect(), defect(item=MAIN_PIN))}, Status.GROUNDED),
    ],
)
def test_the_status_is_the_worst_effect(changes: dict[str, Any], expected: Status) -> None:
    assert evaluate(facts(**changes), NOW).status is expected


def test_reasons_come_worst_first_then_by_rule_then_by_subject() -> None:
    known = facts(
        item_failures=(failures(NOW, NOW, NOW),),
        occurrences=(occurrence(),),
        rigging=rigging(),
        defects=(
            replace(deferred(), id="c"),
            defect(id="b"),
            defect(id="z", item=MAIN_PIN),
            defect(id="a", item=MAIN_PIN),
            defect(id="d", item=None),
        ),
    )
    assert [(reason.rule, reason.subject_id) for reason in evaluate(known, NOW).reasons] == [
        ("critical_item_defect", "a"),
        ("critical_item_defect", "z"),
        ("unclassified_defect", "d"),
        ("rigging_check_missing", "rigging"),
        ("unscheduled_inspection_due", "occurrence"),
        ("untriaged_defect", "b"),
        ("deferral_running", "c"),
        ("repeat_defect", "CAN-01"),
    ]


def test_limitations_are_collected_in_order_without_repeating() -> None:
    known = facts(
        defects=(
            replace(deferred(limitations=("solo only", "no aerobatics")), id="b"),
            replace(deferred(limitations=("no aerobatics", "day only")), id="a"),
        )
    )
    assert evaluate(known, NOW).limitations == ("no aerobatics", "day only", "solo only")


def test_open_defects_are_counted() -> None:
    assert evaluate(facts(defects=(defect(id="a"), assessed(id="b"), deferred())), NOW).open_defects == 3


@pytest.mark.parametrize("error", [Surprise("x"), ValueError("x"), KeyError("x"), RecursionError("x"), OverflowError()])
def test_a_rule_that_raises_grounds_and_hides_nothing(error: Exception) -> None:
    def judge(_facts: Facts, _now: datetime) -> tuple[Reason, ...]:
        raise error

    known = facts(defects=(defect(item=MAIN_PIN), defect(id="other")))
    verdict = evaluate(known, NOW, (rule(judge=judge), *RULES))
    assert verdict.status is Status.GROUNDED
    assert [reason.rule for reason in verdict.reasons] == ["critical_item_defect", "rule_error", "untriaged_defect"]
    assert verdict.errors == (f"odd: {type(error).__name__}: {error}",)
    assert verdict.valid_until == NOW + MOMENT


def test_the_reason_of_an_error_names_the_rule() -> None:
    (reason,) = evaluate(facts(), NOW, (rule(judge=raising),)).reasons
    assert reason.message == "The rule “Odd” could not be evaluated, so the aircraft counts as grounded."
    assert (reason.rule, reason.effect, reason.subject_type) == ("rule_error", Effect.GROUNDS, "aircraft")
    assert reason.subject_id == "aircraft"


def test_what_a_rule_found_before_it_raised_is_kept() -> None:
    def judge(_facts: Facts, _now: datetime) -> Iterator[Reason]:
        yield CRITICAL_ITEM_DEFECT.grounds(("defect", "seen"), message="Seen.", cure="Look.")
        raise Surprise

    verdict = evaluate(facts(), NOW, (rule(judge=judge),))
    assert {reason.rule for reason in verdict.reasons} == {"critical_item_defect", "rule_error"}


def test_a_rule_that_cannot_say_when_it_turns_is_judged_again_at_once() -> None:
    verdict = evaluate(facts(), NOW, (rule(turns=raising),))
    assert verdict.valid_until == NOW + MOMENT
    assert verdict.status is Status.GROUNDED
    assert verdict.errors == ("odd: Surprise: out of the blue",)


def test_a_turn_without_a_time_zone_is_an_error() -> None:
    verdict = evaluate(facts(), NOW, (rule(turns=lambda _: [datetime(2026, 5, 11, 12, 0)]),))
    assert verdict.status is Status.GROUNDED
    assert verdict.errors[0].startswith("odd: TypeError: ")


def test_two_errors_of_one_rule_are_one_reason_and_two_errors() -> None:
    verdict = evaluate(facts(), NOW, (rule(judge=raising, turns=raising),))
    assert [reason.rule for reason in verdict.reasons] == ["rule_error"]
    assert len(verdict.errors) == 2


def test_two_rules_that_raise_are_two_reasons_in_a_stable_order() -> None:
    rules = (rule(code="one", title="One", judge=raising), rule(code="two", title="Two", judge=raising))
    first, second = evaluate(facts(), NOW, rules).reasons
    assert ("One" in first.message, "Two" in second.message) == (True, True)
    assert evaluate(facts(), NOW, rules[::-1]).reasons == (first, second)


def test_facts_that_are_not_what_they_claim_to_be_ground() -> None:
    broken: Any = [None]
    verdict = evaluate(facts(defects=broken), NOW)
    assert verdict.status is Status.GROUNDED
    assert all(reason.rule == "rule_error" for reason in verdict.reasons)


def test_naive_instants_in_the_facts_ground() -> None:
    verdict = evaluate(facts(defects=(defect(reported_at=datetime(2026, 5, 9, 12, 0)),)), NOW)
    assert verdict.status is Status.GROUNDED
    assert "untriaged_defect: TypeError" in verdict.errors[0]


def test_a_naive_instant_of_evaluation_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone: give one"):
        evaluate(facts(), datetime(2026, 5, 10, 12, 0))


def test_the_verdict_holds_until_the_earliest_turn_still_to_come() -> None:
    turns = [NOW - DAY, NOW, NOW + 3 * DAY, NOW + 2 * DAY]
    quiet = facts(last_complete_daily=None, documents=())
    assert evaluate(quiet, NOW, (rule(turns=lambda _: turns),)).valid_until == NOW + 2 * DAY
    assert evaluate(quiet, NOW, (rule(turns=lambda _: turns[:2]),)).valid_until is None


def test_the_end_of_a_verdict_is_told_in_utc() -> None:
    until = evaluate(facts(), NOW).valid_until
    assert until is not None and until.tzinfo is UTC


def test_facts_that_could_not_be_gathered_ground() -> None:
    verdict = unassessable("aircraft", NOW, Surprise("no such table"))
    (reason,) = verdict.reasons
    assert (verdict.status, verdict.ready_today, verdict.next_due) == (Status.GROUNDED, False, None)
    assert (reason.rule, reason.subject_type, reason.subject_id) == ("rule_error", "aircraft", "aircraft")
    assert verdict.errors == ("facts: Surprise: no such table",)
    assert verdict.valid_until == NOW + MOMENT
    assert (verdict.limitations, verdict.open_defects) == ((), 0)


def test_a_reason_in_the_words_of_the_api() -> None:
    (reason,) = evaluate(facts(defects=(defect(item=MAIN_PIN),)), NOW).reasons
    assert as_json(reason) == {
        "rule": "critical_item_defect",
        "effect": "grounds",
        "message": reason.message,
        "citation": "ML.A.403(a)",
        "subject": {"type": "defect", "id": "defect"},
        "cure": reason.cure,
    }


def test_codes_of_the_api() -> None:
    assert [status.code for status in Status] == ["serviceable", "limited", "grounded"]
    assert [effect.code for effect in Effect] == ["advises", "limits", "grounds"]
    assert Status.GROUNDED > Status.LIMITED > Status.SERVICEABLE
