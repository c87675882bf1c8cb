"""Rules about deferred defects."""

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.facts import UsageFact
from fleet.airworthiness.verdict import Effect, Status
from tests.airworthiness.builders import (
    CANOPY,
    DAY,
    DEFERRAL,
    MAIN_PIN,
    MOMENT,
    NOW,
    assessed,
    deferred,
    facts,
    findings,
    rectified,
)

NO_DATE = {"until_at": None, "until_date": None}
USAGE = UsageFact(airframe_minutes=60_000, launches=2_000)


def verdict_codes(one: Any, now: datetime = NOW, usage: UsageFact | None = USAGE) -> list[tuple[str, Effect]]:
    """Rules and effects of everything found about the defect."""
    verdict = evaluate(facts(defects=(one,), usage=usage), now)
    assert verdict.errors == ()
    return [(reason.rule, reason.effect) for reason in verdict.reasons]


RUNNING = [("deferral_running", Effect.LIMITS)]
EXPIRED = [("deferral_expired", Effect.GROUNDS)]


def test_a_running_deferral_limits_with_its_limitations_verbatim() -> None:
    one = deferred(limitations=("no aerobatics", "  Vne 180 km/h, as placarded "))
    (reason,) = findings(facts(defects=(one,)), "deferral_running")
    assert reason.effect is Effect.LIMITS
    assert reason.limitations == ("no aerobatics", "  Vne 180 km/h, as placarded ")
    assert reason.message == "Defect 4 (crack near the hinge) is deferred to the end of 2026-05-20."
    assert evaluate(facts(defects=(one,)), NOW).limitations == reason.limitations


def test_a_deferral_without_limitations_still_limits() -> None:
    assert verdict_codes(deferred(limitations=())) == RUNNING


@pytest.mark.parametrize(
    ("terms", "expected"),
    [
        ({"until_at": NOW + MOMENT}, RUNNING),
        ({"until_at": NOW}, EXPIRED),
        ({"until_at": NOW - DAY}, EXPIRED),
        ({"until_at": NOW + DAY, "until_date": None}, RUNNING),
        ({**NO_DATE, "until_minutes": 60_001}, RUNNING),
        ({**NO_DATE, "until_minutes": 60_000}, EXPIRED),
        ({**NO_DATE, "until_minutes": 59_999}, EXPIRED),
        ({**NO_DATE, "until_minutes": 0}, EXPIRED),
        ({**NO_DATE, "until_launches": 2_001}, RUNNING),
        ({**NO_DATE, "until_launches": 2_000}, EXPIRED),
        ({**NO_DATE, "until_launches": 1_999}, EXPIRED),
        ({**NO_DATE, "until_launches": 0}, EXPIRED),
        ({"until_minutes": 60_001, "until_launches": 2_001}, RUNNING),
        ({"until_minutes": 60_000, "until_launches": 2_001}, EXPIRED),
        ({"until_minutes": 60_001, "until_launches": 2_000}, EXPIRED),
        ({"until_at": NOW, "until_minutes": 60_001, "until_launches": 2_001}, EXPIRED),
        (NO_DATE, EXPIRED),
        ({"until_at": None, "until_minutes": 60_001}, EXPIRED),  # a last day whose end is not known
        ({"in_force": False}, EXPIRED),
        ({"in_force": False, "ended_expired": True}, EXPIRED),
    ],
)
def test_the_first_limit_that_is_reached_ends_a_deferral(terms: dict[str, Any], expected: Any) -> None:
    # ML-503-1: with several parameters the first one reached governs (ML.A.503); for deferrals, domain rule.
    assert verdict_codes(deferred(**terms)) == expected


@pytest.mark.parametrize("limit", ["until_minutes", "until_launches"])
def test_a_usage_limit_cannot_be_judged_without_usage(limit: str) -> None:
    one = deferred(**{limit: 99_999})
    assert verdict_codes(one) == RUNNING
    assert verdict_codes(one, usage=None) == EXPIRED
    (reason,) = findings(facts(defects=(one,), usage=None), "deferral_expired")
    assert "the usage of the aircraft is not known" in reason.message
    assert reason.cure == "Record the usage of the aircraft."


def test_a_date_limit_does_not_need_usage() -> None:
    assert verdict_codes(deferred(), usage=None) == RUNNING
    (reason,) = findings(facts(defects=(deferred(until_at=NOW, until_minutes=99_999),), usage=None), "deferral_expired")
    assert reason.message.endswith("and that limit has passed.")  # not: the usage is not known


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({}, "to the end of 2026-05-20"),
        ({"until_date": None}, "until 2026-05-20T22:00:00+00:00"),
        ({**NO_DATE, "until_minutes": 60_605}, "until the airframe has 1010:05 h"),
        ({**NO_DATE, "until_launches": 2_100}, "until the airframe has 2100 launches"),
        (
            {"until_minutes": 61_200, "until_launches": 2_100},
            "to the end of 2026-05-20, or until the airframe has 1020:00 h, or until the airframe has 2100 launches",
        ),
    ],
)
def test_every_limit_is_said(terms: dict[str, Any], words: str) -> None:
    (reason,) = findings(facts(defects=(deferred(**terms),)), "deferral_running")
    assert reason.message == f"Defect 4 (crack near the hinge) is deferred {words}."


def test_an_expired_deferral_says_which_limit_has_passed() -> None:
    (reason,) = findings(facts(defects=(deferred(),)), "deferral_expired", NOW + 11 * DAY)
    assert reason.message == (
        "Defect 4 (crack near the hinge) was deferred to the end of 2026-05-20, and that limit has passed."
    )


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (assessed(state="deferred"), "counts as deferred, but no deferral is recorded."),
        (deferred(in_force=False), "counts as deferred, but its deferral is not in force."),
        (deferred(**NO_DATE), "is deferred without a limit that can be checked."),
        (assessed(deferral=DEFERRAL), "has a deferral in force, but does not count as deferred."),
        (replace(deferred(), item=replace(CANOPY, deferrable=False)), "is deferred, but Canopy may not be deferred."),
    ],
)
def test_a_deferral_that_does_not_hold_grounds(one: Any, words: str) -> None:
    known = facts(defects=(one,))
    (reason,) = findings(known, "deferral_expired")
    assert reason.effect is Effect.GROUNDS
    assert reason.message == f"Defect 4 (crack near the hinge) {words}"
    assert findings(known, "deferral_running") == []


def test_an_expired_deferral_grounds_also_after_the_defect_went_back_to_assessed() -> None:
    ended = replace(DEFERRAL, in_force=False, ended_expired=True)
    for one in (assessed(deferral=ended), rectified(deferral=ended)):
        (reason,) = findings(facts(defects=(one,)), "deferral_expired")
        assert reason.message.endswith("and that limit has passed.")


@pytest.mark.parametrize("make", [assessed, rectified])
def test_a_withdrawn_deferral_leaves_no_trace(make: Any) -> None:
    withdrawn = evaluate(facts(defects=(make(deferral=replace(DEFERRAL, in_force=False)),)), NOW)
    assert withdrawn == evaluate(facts(defects=(make(),)), NOW)
    assert not {reason.rule for reason in withdrawn.reasons} & {"deferral_running", "deferral_expired"}


def test_a_withdrawn_deferral_does_not_end_a_verdict() -> None:
    withdrawn = rectified(deferral=replace(DEFERRAL, in_force=False))
    assert evaluate(facts(defects=(withdrawn,), last_complete_daily=None, documents=()), NOW).valid_until is None


@pytest.mark.parametrize("item", [MAIN_PIN, None])
def test_a_deferral_never_helps_a_critical_or_unknown_item(item: Any) -> None:
    verdict = evaluate(facts(defects=(replace(deferred(), item=item),)), NOW)
    assert (verdict.status, verdict.errors) == (Status.GROUNDED, ())


def test_the_verdict_holds_until_the_deferral_ends() -> None:
    last_day = datetime(2026, 5, 20, 12, 0, tzinfo=UTC)
    known = facts(defects=(deferred(),), last_complete_daily=None)
    verdict = evaluate(known, last_day)
    over_at = datetime(2026, 5, 20, 22, 0, tzinfo=UTC)
    assert verdict.valid_until == DEFERRAL.until_at == over_at
    assert verdict.next_due is not None and verdict.next_due.on == date(2026, 5, 20)
    assert evaluate(known, over_at - MOMENT).status is Status.LIMITED
    assert evaluate(known, over_at).status is Status.GROUNDED
