"""The rule about usage that is behind."""

from datetime import UTC, datetime

import pytest

from fleet.airworthiness.due_facts import UsageRecord
from fleet.airworthiness.rules.usage import USAGE_STALE
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import DAY, MOMENT, NOW
from tests.airworthiness.due_builders import Known, found


def record(recorded_at: datetime | None, flew_at: datetime | None) -> Known:
    return Known(usage_record=UsageRecord(last_recorded_at=recorded_at, sign_of_flight_at=flew_at))


@pytest.mark.parametrize(
    ("recorded_at", "flew_at", "stale"),
    [
        (None, None, False),
        (NOW, None, False),
        (None, NOW, True),
        (NOW, NOW, False),
        (NOW, NOW - DAY, False),
        (NOW, NOW + MOMENT, True),
    ],
)
def test_flown_since_the_last_entry(recorded_at: datetime | None, flew_at: datetime | None, stale: bool) -> None:
    effects = [reason.effect for reason in found(USAGE_STALE, record(recorded_at, flew_at))]
    assert effects == [Effect.ADVISES] * stale


def test_the_sentence_tells_days_of_the_club() -> None:
    late = datetime(2026, 5, 8, 22, 30, tzinfo=UTC)  # already the 9th in Berlin
    (reason,) = found(USAGE_STALE, record(NOW - 7 * DAY, late))
    assert reason.message == (
        "The aircraft shows signs of a flight on 2026-05-09, and no usage has been recorded since 2026-05-03."
    )
    (never,) = found(USAGE_STALE, record(None, late))
    assert never.message == "The aircraft shows signs of a flight on 2026-05-09, and no usage has ever been recorded."
    assert (reason.subject_type, reason.subject_id) == ("aircraft", "aircraft")
