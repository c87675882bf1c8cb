"""Deferral: its limits, its end, and that a limit which has passed grounds until somebody decides anew."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from defects.lifecycle import DEFER, RECTIFY, WITHDRAW_DEFERRAL, State
from defects.models import Defect, Deferral, DeferralEnd
from defects.permissions import allowed_acts
from defects.services import upkeep
from fleet.errors import Conflict
from fleet.models import Aircraft
from tests.defects.attempts import LATER, attempt, free_inspector
from tests.factories import NOW, assessed, deferred, fresh, rejected, reported
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
LAST_DAY = date(2025, 5, 24)  # ``deferred`` defers for ten days
OVER_AT = datetime(2025, 5, 24, 22, 0, tzinfo=UTC)  # midnight in the club's zone, UTC+2
RUNNING = {"deferral_running": "limits"}


def withdraw(defect: Defect, at: datetime = LATER) -> Any:
    return attempt(WITHDRAW_DEFERRAL, defect, by=free_inspector(defect.aircraft), at=at)


@pytest.mark.parametrize(
    ("limits", "effects"),
    [
        ({}, RUNNING),
        ({"until_date": NOW.date()}, RUNNING),  # today is covered to its end
        # a limit in hours or launches cannot be watched while the usage of the aircraft is not known
        ({"until_minutes": 600_000}, {"deferral_expired": "grounds"}),
        ({"until_date": None, "until_minutes": 600_000}, {"deferral_expired": "grounds"}),
        ({"until_date": None, "until_launches": 20_000}, {"deferral_expired": "grounds"}),
    ],
)
def test_a_deferral_limits_inside_its_limits(
    aircraft: Aircraft, limits: dict[str, Any], effects: dict[str, str]
) -> None:
    acted = attempt(DEFER, assessed(aircraft), by=free_inspector(aircraft), **limits)
    assert effects_of(acted) == effects


def test_a_deferral_says_everything_that_was_decided(aircraft: Aircraft) -> None:
    defect = assessed(aircraft, found_at=NOW - DAY)
    by = free_inspector(aircraft)
    verdict = attempt(DEFER, defect, by=by, limitations=["no aerobatics", "day only"], until_launches=900).verdict
    deferral = Deferral.objects.get(defect=defect)
    assert (deferral.until_date, deferral.until_minutes, deferral.until_launches) == (date(2025, 5, 19), None, 900)
    assert deferral.first_identified_at == NOW - DAY
    assert (deferral.deferred_by, deferral.deferred_at) == (by, LATER)
    assert deferral.limitations == ["no aerobatics", "day only"]
    assert verdict.limitations == ()  # it grounds, and a limitation would read like leave to fly


def test_limitations_are_shown_word_for_word(aircraft: Aircraft) -> None:
    acted = attempt(DEFER, assessed(aircraft), by=free_inspector(aircraft), limitations=["Vne 180 km/h", "day only"])
    assert acted.verdict.limitations == ("Vne 180 km/h", "day only")
    assert fresh(aircraft).airworthiness.limitations == ["Vne 180 km/h", "day only"]


@pytest.mark.parametrize("led", [reported, rejected])
def test_neither_an_untriaged_nor_a_worked_on_defect_is_deferred(aircraft: Aircraft, led: Any) -> None:
    defect = led(aircraft)
    by = free_inspector(aircraft)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(DEFER, defect, by=by)
    assert refusal.value.code == ("work_unreleased" if led is rejected else "state")


def test_withdrawn_in_time_a_deferral_leaves_an_assessed_defect(aircraft: Aircraft) -> None:
    defect = deferred(aircraft)
    acted = withdraw(defect)
    assert acted.defect.state == State.ASSESSED
    assert effects_of(acted) == {"assessed_defect": "limits"}
    end = DeferralEnd.objects.get(deferral__defect=defect)
    assert (end.kind, end.past_limit, end.ended_at) == ("withdrawn", False, LATER)


def test_after_a_withdrawal_the_decision_limit_still_counts_from_the_first_assessment(aircraft: Aircraft) -> None:
    defect = deferred(aircraft, days=20)
    acted = withdraw(defect, at=NOW + 8 * DAY)  # the limit is seven days
    assert effects_of(acted) == {"assessed_defect": "grounds"}


@pytest.mark.parametrize("limit", [{"until_minutes": 600_000}, {"until_launches": 20_000}])
def test_withdrawn_while_its_usage_is_unknown_a_deferral_counts_as_past_its_limit(
    aircraft: Aircraft, limit: dict[str, Any]
) -> None:
    defect = assessed(aircraft)
    attempt(DEFER, defect, by=free_inspector(aircraft), **limit)
    assert effects_of(withdraw(defect))["deferral_expired"] == "grounds"


def ended_by_the_job(defect: Defect) -> None:
    assert upkeep.expire_deferrals(OVER_AT) == 1


def ended_by_an_officer(defect: Defect) -> None:
    withdraw(defect, at=OVER_AT)


@pytest.mark.parametrize("ended", [ended_by_the_job, ended_by_an_officer])
def test_a_passed_limit_grounds_until_the_defect_is_deferred_anew_or_rectified(aircraft: Aircraft, ended: Any) -> None:
    defect = deferred(aircraft)
    ended(defect)
    stored = fresh(aircraft).airworthiness
    assert "deferral_expired" in {reason["rule"] for reason in stored.reasons}
    anew = attempt(DEFER, defect, by=free_inspector(aircraft), at=OVER_AT + DAY)
    assert effects_of(anew) == RUNNING
    assert Deferral.objects.filter(defect=defect).count() == 2


@pytest.mark.parametrize("ended", [ended_by_the_job, ended_by_an_officer])
def test_rectified_after_its_limit_it_grounds_until_the_release(aircraft: Aircraft, ended: Any) -> None:
    defect = deferred(aircraft)
    ended(defect)
    acted = attempt(RECTIFY, defect, by=free_inspector(aircraft), at=OVER_AT + DAY)
    assert effects_of(acted)["rectification_unreleased"] == "grounds"


def test_rectifying_ends_a_running_deferral(aircraft: Aircraft) -> None:
    defect = deferred(aircraft)
    by = free_inspector(aircraft)
    attempt(RECTIFY, defect, by=by)
    end = DeferralEnd.objects.get(deferral__defect=defect)
    assert (end.kind, end.past_limit, end.ended_by) == ("rectified", False, by)


def test_deferred_again_and_again_the_first_identified_date_stays(aircraft: Aircraft) -> None:
    defect = deferred(aircraft, found_at=NOW - 3 * DAY)
    for days in (1, 2, 3):
        withdraw(defect, at=NOW + days * DAY)
        attempt(DEFER, defect, by=free_inspector(aircraft), at=NOW + days * DAY)
    assert set(Deferral.objects.values_list("first_identified_at", flat=True)) == {NOW - 3 * DAY}
    assert Deferral.objects.count() == 4


def test_the_last_day_is_covered_to_its_end_in_the_clubs_zone(aircraft: Aircraft) -> None:
    defect = deferred(aircraft)
    assert defect.deferral is not None
    assert defect.deferral.until_date == LAST_DAY
    other = reported(aircraft, at=OVER_AT - timedelta(microseconds=1))
    assert {reason["rule"] for reason in fresh(aircraft).airworthiness.reasons} == {
        "deferral_running",
        "untriaged_defect",
    }
    effects = effects_of(attempt(WITHDRAW_DEFERRAL, defect, by=free_inspector(aircraft), at=OVER_AT))
    assert effects["deferral_expired"] == "grounds"
    assert other.number == 2


@pytest.mark.parametrize(
    ("found", "listed"), [({}, True), ({"critical": True}, False), ({"assessment": "hazard"}, False)]
)
def test_deferral_is_offered_only_where_it_would_be_granted(
    aircraft: Aircraft, found: dict[str, Any], listed: bool
) -> None:
    defect = assessed(aircraft, **found)
    assert (DEFER.code in allowed_acts(defect, free_inspector(aircraft), LATER)) is listed
