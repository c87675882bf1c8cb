"""Rules about rigging, occurrences and ballast."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.verdict import Effect, Status
from tests.airworthiness.builders import (
    DAY,
    HOUR,
    MOMENT,
    NOW,
    daily,
    effects,
    facts,
    findings,
    occurrence,
    policy,
    rigging,
)

GROUNDS = [Effect.GROUNDS]
RIGGED_AT = NOW - 2 * HOUR


@pytest.mark.parametrize("kind", ["rigged", "derigged", "half rigged"])
@pytest.mark.parametrize(
    ("checked_at", "expected"),
    [
        (None, GROUNDS),
        (RIGGED_AT - MOMENT, GROUNDS),
        (RIGGED_AT, []),
        (RIGGED_AT + HOUR, []),
    ],
)
def test_rigging_needs_a_complete_check_begun_after_it(kind: str, checked_at: Any, expected: Any) -> None:
    # DI-2 (BGA rules as published) and EASA SIB 2019-07: rigged 13:00 after an inspection at 08:00, check again.
    known = facts(rigging=rigging(kind=kind), rigging_checked_at=checked_at)
    assert effects(known, "rigging_check_missing") == expected


def test_an_aircraft_that_was_never_rigged_needs_no_check() -> None:
    assert findings(facts(), "rigging_check_missing") == []


def test_a_derigged_aircraft_is_rigged_first() -> None:
    (rigged,) = findings(facts(rigging=rigging()), "rigging_check_missing")
    (derigged,) = findings(facts(rigging=rigging(kind="derigged")), "rigging_check_missing")
    assert rigged.message.startswith("The aircraft was rigged,") and rigged.cure.startswith("Make a complete")
    assert derigged.message.startswith("The aircraft was derigged,") and derigged.cure.startswith("Rig the aircraft")
    assert (rigged.subject_type, rigged.subject_id) == ("rigging_event", "rigging")


def test_every_open_occurrence_grounds_with_a_reason_of_its_own() -> None:
    # ML.A.902(b), from memory: overspeed or heavy landing open, special inspection not closed, not flyable.
    known = facts(occurrences=(occurrence(), occurrence(id="other", kind="bird_strike", description="a gull")))
    first, second = findings(known, "unscheduled_inspection_due")
    assert first.message == (
        "Heavy landing on 2026-05-10 (bounced twice) has not been answered by an unscheduled inspection."
    )
    assert second.message.startswith("Bird strike on 2026-05-10 (a gull)")
    assert {first.effect, second.effect} == {Effect.GROUNDS}
    assert (second.subject_type, second.subject_id) == ("occurrence", "other")


def test_an_occurrence_is_dated_by_the_clock_of_the_club() -> None:
    late = occurrence(occurred_at=datetime(2026, 5, 10, 22, 30, tzinfo=UTC))  # 00:30 on the 11th in Berlin
    (reason,) = findings(facts(occurrences=(late,)), "unscheduled_inspection_due")
    assert "on 2026-05-11 " in reason.message


@pytest.mark.parametrize("known", [True, False, None])
def test_unknown_ballast_grounds(known: bool | None) -> None:
    # Common practice, no source: if the amount of ballast is not known, it is drained.
    expected = GROUNDS if known is False else []
    assert effects(facts(last_daily=daily(ballast_known=known)), "ballast_unknown") == expected


def test_unknown_ballast_is_a_matter_of_its_flying_day() -> None:
    known = facts(last_daily=daily(ballast_known=False), last_complete_daily=None)
    midnight = datetime(2026, 5, 10, 22, 0, tzinfo=UTC)  # 00:00 on the 11th in Berlin
    assert evaluate(known, NOW).valid_until == midnight
    assert effects(known, "ballast_unknown", midnight - MOMENT) == GROUNDS
    assert effects(known, "ballast_unknown", midnight) == []
    assert effects(known, "ballast_unknown", midnight - DAY) == GROUNDS
    assert effects(known, "ballast_unknown", midnight - DAY - MOMENT) == []


@pytest.mark.parametrize("ballast_known", [True, None])
def test_known_ballast_does_not_end_a_verdict(ballast_known: bool | None) -> None:
    known = facts(last_daily=daily(ballast_known=ballast_known), last_complete_daily=None, documents=())
    assert evaluate(replace(known, policy=policy(required_documents=())), NOW).valid_until is None


def test_only_the_latest_daily_inspection_counts_for_ballast() -> None:
    known = facts(last_daily=daily(id="later", ballast_known=True), last_complete_daily=daily(ballast_known=False))
    assert evaluate(known, NOW).status is Status.SERVICEABLE
    assert findings(facts(last_daily=None, last_complete_daily=None), "ballast_unknown") == []
