"""Whether the daily inspection of this flying day counts."""

from datetime import UTC, datetime
from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.ready import ready_today, turns
from fleet.airworthiness.verdict import Status
from tests.airworthiness.builders import (
    DAILY,
    HOUR,
    MAIN_PIN,
    MOMENT,
    NOW,
    cancellation,
    daily,
    defect,
    facts,
    policy,
)

STARTED, RECORDED = DAILY.started_at, DAILY.recorded_at
BEFORE, AFTER = STARTED - HOUR, STARTED + MOMENT


@pytest.mark.parametrize(
    ("completed", "now", "expected"),
    [
        # Check value T67: inspection 2026-06-01 18:00, flight 2026-06-02 09:00, not valid (BGA Op. Reg. 38).
        ("2026-06-01 18:00+02:00", "2026-06-02 09:00+02:00", False),
        # The same rule: inspection 2026-06-02 08:00, valid that day.
        ("2026-06-02 08:00+02:00", "2026-06-02 09:00+02:00", True),
        ("2026-06-02 08:00+02:00", "2026-06-02 23:59+02:00", True),
        ("2026-06-02 00:00+02:00", "2026-06-02 00:00+02:00", True),
        ("2026-06-01 23:59+02:00", "2026-06-02 00:00+02:00", False),
        ("2026-06-03 00:01+02:00", "2026-06-02 23:59+02:00", False),
    ],
)
def test_a_daily_inspection_is_valid_on_its_flying_day(completed: str, now: str, expected: bool) -> None:
    completed_at = datetime.fromisoformat(completed)
    inspected = daily(started_at=completed_at - HOUR, completed_at=completed_at, recorded_at=completed_at)
    assert ready_today(facts(last_complete_daily=inspected), datetime.fromisoformat(now)) is expected


def test_without_a_complete_daily_inspection_it_is_not_ready() -> None:
    known = facts(last_complete_daily=None)
    assert ready_today(known, NOW) is False
    assert turns(known) == ()


def test_readiness_ends_at_midnight_of_the_club() -> None:
    midnight = datetime(2026, 5, 10, 22, 0, tzinfo=UTC)
    assert evaluate(facts(), NOW).valid_until == midnight
    assert ready_today(facts(), midnight - MOMENT) is True
    assert ready_today(facts(), midnight) is False


@pytest.mark.parametrize("kind", ["rigging", "critical_work", "critical_defect", "occurrence", "something new"])
@pytest.mark.parametrize(("happened_at", "expected"), [(STARTED, True), (BEFORE, True), (AFTER, False), (NOW, False)])
def test_what_happens_after_the_inspection_began_cancels_it(kind: str, happened_at: datetime, expected: bool) -> None:
    # DI-2 (BGA rules as published): inspection 08:00, rigged 13:00, inspection void.
    happened = cancellation(kind=kind, happened_at=happened_at, recorded_at=RECORDED - MOMENT)
    assert ready_today(facts(cancellations=(happened,)), NOW) is expected


@pytest.mark.parametrize("recorded_at", [RECORDED - MOMENT, RECORDED, RECORDED + HOUR])
@pytest.mark.parametrize(
    ("kind", "is_news"),
    [
        ("critical_defect", True),
        ("occurrence", True),
        ("something new", True),
        ("rigging", False),
        ("critical_work", False),
    ],
)
def test_news_of_earlier_trouble_cancels_an_inspection_that_did_not_know_it(
    kind: str, is_news: bool, recorded_at: datetime
) -> None:
    happened = cancellation(kind=kind, happened_at=BEFORE, recorded_at=recorded_at)
    expected = not (is_news and recorded_at >= RECORDED)
    assert ready_today(facts(cancellations=(happened,)), NOW) is expected


def test_one_of_many_cancellations_is_enough() -> None:
    harmless = cancellation(happened_at=BEFORE)
    assert ready_today(facts(cancellations=(harmless, harmless)), NOW) is True
    assert ready_today(facts(cancellations=(harmless, cancellation(), harmless)), NOW) is False


def test_ready_and_serviceable_are_different_questions() -> None:
    grounded = evaluate(facts(defects=(defect(item=MAIN_PIN),)), NOW)
    uninspected = evaluate(facts(last_complete_daily=None), NOW)
    assert (grounded.status, grounded.ready_today) == (Status.GROUNDED, True)
    assert (uninspected.status, uninspected.ready_today) == (Status.SERVICEABLE, False)


@pytest.mark.parametrize("time_zone", ["Europe/Nowhere", "", "Europe", "../etc/passwd"])
@pytest.mark.parametrize("inspected", [DAILY, None])
def test_an_unknown_time_zone_grounds_and_is_not_ready(time_zone: str, inspected: Any) -> None:
    club = policy(time_zone=time_zone, required_documents=())
    known = facts(policy=club, last_complete_daily=inspected, last_daily=inspected, documents=())
    verdict = evaluate(known, NOW)
    assert (verdict.status, verdict.ready_today) == (Status.GROUNDED, False)
    assert {reason.rule for reason in verdict.reasons} == {"rule_error"}
    assert "ready_today" in {error.split(":")[0] for error in verdict.errors}
