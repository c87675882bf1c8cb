"""What holds for every aircraft, whatever is known about it."""

from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from fleet.airworthiness.evaluate import STATUS_OF_EFFECT, evaluate
from fleet.airworthiness.facts import Facts
from fleet.airworthiness.rules import RULES
from fleet.airworthiness.verdict import Effect, Status
from tests.airworthiness import adverse, strategies

RULE_OF_CODE = {rule.code: rule for rule in RULES}
MOMENT = timedelta(microseconds=1)


@given(strategies.facts, strategies.instants)
def test_no_rule_fails(known: Facts, now: datetime) -> None:
    assert evaluate(known, now).errors == ()


@given(strategies.facts, strategies.instants)
def test_the_status_is_the_worst_effect(known: Facts, now: datetime) -> None:
    verdict = evaluate(known, now)
    worst = max([STATUS_OF_EFFECT[reason.effect] for reason in verdict.reasons] + [Status.SERVICEABLE])
    assert verdict.status is worst
    effects = [reason.effect for reason in verdict.reasons]
    assert effects == sorted(effects, reverse=True)


@given(strategies.facts, strategies.instants)
def test_every_reason_belongs_to_its_rule_and_names_a_cure(known: Facts, now: datetime) -> None:
    for reason in evaluate(known, now).reasons:
        rule = RULE_OF_CODE[reason.rule]
        assert reason.effect in rule.effects
        assert reason.citation == rule.citation
        assert reason.message.endswith(".") and reason.message[0].isupper() and "\n" not in reason.message
        assert reason.cure.endswith(".")
        assert reason.subject_type and reason.subject_id
        assert not reason.limitations or reason.effect is Effect.LIMITS


@given(strategies.facts, strategies.instants)
def test_an_open_defect_never_leaves_an_aircraft_serviceable(known: Facts, now: datetime) -> None:
    verdict = evaluate(known, now)
    if known.defects:
        assert verdict.status > Status.SERVICEABLE
        assert {defect.id for defect in known.defects} <= {reason.subject_id for reason in verdict.reasons}
    if any(defect.item is None or defect.item.critical for defect in known.defects):
        assert verdict.status is Status.GROUNDED


@given(strategies.facts, strategies.instants, adverse.changes)
def test_an_adverse_change_never_improves_anything(known: Facts, now: datetime, change: adverse.Change) -> None:
    before, after = evaluate(known, now), evaluate(change(known), now)
    assert after.status >= before.status
    assert after.ready_today <= before.ready_today


@given(strategies.facts, strategies.instants, adverse.additions)
def test_an_addition_takes_no_reason_away(known: Facts, now: datetime, add: adverse.Change) -> None:
    before, after = evaluate(known, now), evaluate(add(known), now)
    assert set(before.reasons) <= set(after.reasons)
    assert set(before.limitations) <= set(after.limitations)


@given(strategies.facts, strategies.instants, st.lists(st.floats(0, 1, exclude_max=True), min_size=3, max_size=3))
def test_a_verdict_stays_true_until_it_says_so(known: Facts, now: datetime, shares: list[float]) -> None:
    verdict = evaluate(known, now)
    end = verdict.valid_until or now + timedelta(days=400)
    assert end > now
    for instant in [now + (end - now) * share for share in shares] + [end - MOMENT]:
        assert evaluate(known, min(instant, end - MOMENT)) == verdict


@given(strategies.facts, strategies.instants)
def test_equal_facts_give_an_equal_verdict(known: Facts, now: datetime) -> None:
    first, second = evaluate(known, now), evaluate(replace(known), now)
    assert first == second
    assert repr(first) == repr(second)


@given(strategies.facts, strategies.instants, st.data())
def test_the_order_of_facts_does_not_matter(known: Facts, now: datetime, data: st.DataObject) -> None:
    lists: dict[str, Any] = {
        field.name: tuple(data.draw(st.permutations(getattr(known, field.name))))
        for field in fields(Facts)
        if isinstance(getattr(known, field.name), tuple)
    }
    assert repr(evaluate(replace(known, **lists), now)) == repr(evaluate(known, now))


@given(strategies.facts, strategies.instants, st.sampled_from([rule for rule in RULES if rule.code != "rule_error"]))
def test_a_rule_that_raises_grounds_and_takes_nothing_from_the_others(
    known: Facts, now: datetime, failing: Any
) -> None:
    def raising(*_: object) -> Any:
        raise ArithmeticError("failed")

    rules = tuple(replace(rule, judge=raising) if rule is failing else rule for rule in RULES)
    sound, failed = evaluate(known, now), evaluate(known, now, rules)
    assert failed.status is Status.GROUNDED
    assert failed.errors == (f"{failing.code}: ArithmeticError: failed",)
    assert {reason for reason in sound.reasons if reason.rule != failing.code} < set(failed.reasons)
