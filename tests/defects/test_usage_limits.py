"""Deferrals in hours and launches, and repeated failures, count from the recorded usage."""

import json
from datetime import timedelta
from typing import Any

import pytest

from defects.lifecycle import DEFER, RECTIFY, RELEASE, WITHDRAW_DEFERRAL, State
from defects.models import Defect, DeferralEnd
from defects.services import upkeep
from fleet.errors import Invalid
from fleet.models import Aircraft, Flag, Role
from fleet.services import usage
from tests.defects.attempts import LATER, attempt, free_inspector
from tests.factories import NOW, assessed, deferred, fresh, inspected, member_of, reported
from tests.factories.usage import flown, opened, taken_back
from tests.unchanged import unchanged
from tests.verdicts import effects_of

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
RUNNING, EXPIRED = {"deferral_running": "limits"}, {"deferral_expired": "grounds"}
LIMITS = [({"until_minutes": 60_030}, {"airframe_minutes": 30}), ({"until_launches": 2_003}, {"winch_launches": 3})]


@pytest.fixture
def counted(aircraft: Aircraft) -> Aircraft:
    """An aircraft with 1000 hours and 2000 launches."""
    opened(aircraft)
    return aircraft


def deferred_until(aircraft: Aircraft, **limits: Any) -> Defect:
    acted = attempt(DEFER, assessed(aircraft), by=free_inspector(aircraft), **{"until_date": None} | limits)
    assert effects_of(acted) == RUNNING
    return Defect.objects.select_related("aircraft__club").get(id=acted.defect.id)


def shown(aircraft: Aircraft) -> set[str]:
    return {reason["rule"] for reason in fresh(aircraft).airworthiness.reasons}


@pytest.mark.parametrize(("limit", "amounts"), LIMITS)
def test_the_entry_that_reaches_the_limit_grounds(
    counted: Aircraft, limit: dict[str, Any], amounts: dict[str, Any]
) -> None:
    deferred_until(counted, **limit)
    nearly: dict[str, Any] = {name: amount - 1 for name, amount in amounts.items()}
    assert effects_of(flown(counted, at=LATER, flown_on=NOW.date(), **nearly)) == RUNNING
    last: dict[str, Any] = {"airframe_minutes": 1, "winch_launches": 1}
    assert effects_of(flown(counted, at=LATER + MINUTE, flown_on=NOW.date(), **last)) == EXPIRED
    assert fresh(counted).airworthiness.status == "grounded"


def test_a_correction_that_lowers_usage_is_judged_anew(counted: Aircraft) -> None:
    deferred_until(counted, until_minutes=60_030)
    recorded = flown(counted, at=LATER, airframe_minutes=300)
    assert effects_of(recorded) == EXPIRED
    assert effects_of(taken_back(recorded, at=LATER + MINUTE)) == RUNNING


def test_without_the_opening_balance_what_cannot_be_counted_has_passed(counted: Aircraft) -> None:
    deferred_until(counted, until_minutes=60_030)
    opening = counted.usage_entries.get(source="opening")
    by = member_of(counted.club, Role.TECHNICAL_OFFICER)
    corrected = usage.correct(entry_id=opening.id, by=by, at=LATER, remark="Misread.")
    assert effects_of(corrected) == EXPIRED


@pytest.mark.parametrize(("limit", "amounts"), LIMITS)
@pytest.mark.parametrize("reached", [True, False])
def test_a_withdrawal_keeps_whether_the_limit_had_passed(
    counted: Aircraft, limit: dict[str, Any], amounts: dict[str, Any], reached: bool
) -> None:
    defect = deferred_until(counted, **limit)
    if reached:
        flown(counted, at=LATER, **amounts)
    acted = attempt(WITHDRAW_DEFERRAL, defect, by=free_inspector(counted), at=LATER + MINUTE)
    assert DeferralEnd.objects.get(deferral__defect=defect).past_limit is reached
    assert ("deferral_expired" in effects_of(acted)) is reached


@pytest.mark.parametrize(
    ("limit", "pointer"),
    [({"until_minutes": 60_000}, "/until_minutes"), ({"until_launches": 1_999}, "/until_launches")],
)
def test_no_defect_is_deferred_until_what_has_been(counted: Aircraft, limit: dict[str, Any], pointer: str) -> None:
    defect, by = assessed(counted), free_inspector(counted)
    with unchanged(), pytest.raises(Invalid) as refusal:
        attempt(DEFER, defect, by=by, **limit)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, "in_past")]


@pytest.mark.parametrize(("limit", "amounts"), LIMITS)
def test_the_job_ends_a_deferral_whose_usage_limit_is_reached(
    counted: Aircraft, limit: dict[str, Any], amounts: dict[str, Any]
) -> None:
    defect = deferred_until(counted, **limit)
    assert upkeep.expire_deferrals(LATER) == 0
    flown(counted, at=LATER, **amounts)
    before = fresh(counted).airworthiness
    assert upkeep.expire_deferrals(LATER + MINUTE) == 1
    assert Defect.objects.get(id=defect.id).state == State.ASSESSED
    assert fresh(counted).airworthiness.status == before.status == "grounded"
    assert upkeep.expire_deferrals(LATER + MINUTE) == 0


def test_the_job_leaves_unknown_usage_to_a_person(aircraft: Aircraft) -> None:
    attempt(DEFER, assessed(aircraft), by=free_inspector(aircraft), until_date=None, until_minutes=600_000)
    assert upkeep.expire_deferrals(LATER + DAY) == 0
    assert "deferral_expired" in shown(aircraft)


@pytest.mark.parametrize(
    ("limits", "flags"),
    [
        ({"until_minutes": 60_300}, 1),
        ({"until_minutes": 60_301}, 0),
        ({"until_launches": 2_010}, 1),
        ({"until_launches": 2_011}, 0),
    ],
)
def test_a_limit_is_flagged_a_days_flying_before(counted: Aircraft, limits: dict[str, Any], flags: int) -> None:
    deferred_until(counted, **limits)
    upkeep.flag_deferrals(LATER)
    upkeep.flag_deferrals(LATER)
    raised = list(Flag.objects.filter(kind="deferral_ending"))
    assert len(raised) == flags


def test_a_defect_remembers_the_launches_at_its_report(counted: Aircraft) -> None:
    assert reported(counted).launches_at == 2_000
    flown(counted, winch_launches=7, at=LATER)
    assert reported(counted, at=LATER).launches_at == 2_007


def test_without_usage_it_remembers_none(aircraft: Aircraft) -> None:
    assert reported(aircraft).launches_at is None


def fail_at(aircraft: Aircraft, launches: list[int]) -> None:
    """The same item fails at these launches after the first 2000, each two months after the one before."""
    done = 0
    for number, total in enumerate(launches):
        at = NOW + number * 60 * DAY
        if total > done:
            flown(aircraft, at=at, winch_launches=total - done)
        done = total
        reported(aircraft, at=at)


@pytest.mark.parametrize(
    ("launches", "found"),
    [
        (
            [9, 17, 18],
            True,
        ),  # check value rel.repeat.3_in_15: flights 4 to 18 hold 9, 17 and 18 (an operator's example)
        ([2, 9, 18], False),
        ([3, 4, 18], False),
        ([4, 5, 18], True),
    ],
)
def test_three_failures_within_fifteen_flights_are_found_though_months_lie_between(
    counted: Aircraft, launches: list[int], found: bool
) -> None:
    fail_at(counted, launches)
    assert ("repeat_defect" in shown(counted)) is found


def test_and_are_forgotten_when_the_window_is_outflown(counted: Aircraft) -> None:
    fail_at(counted, [9, 17, 18])
    later = NOW + 125 * DAY
    assert "repeat_defect" in effects_of(flown(counted, at=later, winch_launches=14))
    assert "repeat_defect" not in effects_of(flown(counted, at=later + MINUTE, winch_launches=1))


def test_a_release_states_the_total_time(counted: Aircraft) -> None:
    flown(counted, at=NOW, airframe_minutes=47)
    defect = inspected(counted)
    _acted, release = attempt(RELEASE, defect, by=free_inspector(counted))
    assert json.loads(release.record)["aircraft"]["total_minutes"] == 60_047


def test_rectifying_past_its_limit_says_so(counted: Aircraft) -> None:
    defect = deferred_until(counted, until_minutes=60_010)
    flown(counted, at=LATER)
    attempt(RECTIFY, defect, by=free_inspector(counted), at=LATER + MINUTE)
    assert DeferralEnd.objects.get(deferral__defect=defect).past_limit is True


def test_a_date_limit_still_counts_beside_usage(counted: Aircraft) -> None:
    defect = deferred(counted)
    assert upkeep.expire_deferrals(NOW + 11 * DAY) == 1
    assert Defect.objects.get(id=defect.id).state == State.ASSESSED
