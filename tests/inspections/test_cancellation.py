"""What cancels a daily inspection of the same day, and what does not."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from defects.lifecycle import RECTIFY, TRIAGE
from fleet.models import Aircraft, Membership
from inspections.models import InspectionKind
from inspections.services import events
from tests.defects.attempts import attempt
from tests.factories import (
    CRITICAL,
    NOW,
    PLAIN,
    assessed,
    fresh,
    no_defect,
    rectified,
    released,
    reported,
    rig,
)
from tests.inspections.walks import LENGTH, ready, rules, walk

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
STARTED = NOW - LENGTH
NOON = NOW + timedelta(hours=1)
AFTERNOON = NOW + timedelta(hours=3)


def occurrence(aircraft: Aircraft, *, occurred_at: datetime = NOON) -> None:
    events.report_occurrence(
        aircraft_id=aircraft.id,
        by=aircraft.club.memberships.get(person__username="first"),
        at=NOON,
        kind="heavy_landing",
        occurred_at=occurred_at,
        description="Bounced twice.",
    )


def moved_on_to_a_critical_item(aircraft: Aircraft) -> None:
    defect = reported(aircraft, at=NOON)
    inspector = aircraft.club.memberships.get(person__username="inspector")
    attempt(TRIAGE, defect, by=inspector, at=NOON + MINUTE, item_code=CRITICAL)


def critical_work(aircraft: Aircraft) -> None:
    rectified(aircraft, at=NOON, critical=True)


def plain_work(aircraft: Aircraft) -> None:
    rectified(aircraft, at=NOON)


CANCELLING: dict[str, Callable[[Aircraft], object]] = {
    "rigged": lambda aircraft: rig(aircraft, at=NOON),
    "derigged": lambda aircraft: rig(aircraft, at=NOON, kind="derigged"),
    "a critical defect": lambda aircraft: reported(aircraft, at=NOON, critical=True),
    "a critical defect that was denied": lambda aircraft: no_defect(aircraft, at=NOON, critical=True),
    "a critical defect that was released": lambda aircraft: released(aircraft, at=NOON, critical=True),
    "an unclassified defect": lambda aircraft: reported(aircraft, at=NOON, item_code=None),
    "a defect moved on to a critical item": moved_on_to_a_critical_item,
    "critical work": critical_work,
    "an occurrence": occurrence,
}
HARMLESS: dict[str, Callable[[Aircraft], object]] = {
    "a plain defect": lambda aircraft: reported(aircraft, at=NOON),
    "an assessed plain defect": lambda aircraft: assessed(aircraft, at=NOON),
    "work on a plain item": plain_work,
    "a plain defect that was released": lambda aircraft: released(aircraft, at=NOON),
}


@pytest.mark.parametrize("what", CANCELLING)
def test_it_cancels_the_days_inspection_and_only_a_new_one_makes_ready(
    aircraft: Aircraft, pilot: Membership, second: Membership, what: str
) -> None:
    walk(aircraft, by=pilot, second=second)
    assert ready(aircraft, NOW)
    CANCELLING[what](fresh(aircraft))
    assert not ready(aircraft, NOON + 10 * MINUTE)
    walk(aircraft, by=pilot, second=second, at=AFTERNOON)
    assert ready(aircraft, AFTERNOON)


@pytest.mark.parametrize("what", HARMLESS)
def test_it_does_not_cancel_the_days_inspection(
    aircraft: Aircraft, pilot: Membership, second: Membership, what: str
) -> None:
    walk(aircraft, by=pilot, second=second)
    HARMLESS[what](fresh(aircraft))
    assert ready(aircraft, NOON + 10 * MINUTE)


@pytest.mark.parametrize("code", [CRITICAL, PLAIN])
def test_an_inspection_that_finds_a_critical_defect_itself_makes_not_ready(
    aircraft: Aircraft, pilot: Membership, second: Membership, code: str
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes={code: {"outcome": "defect"}})
    assert done.inspection.complete
    assert done.verdict.ready_today is (code == PLAIN)


@pytest.mark.parametrize(
    ("occurred_at", "still"),
    [
        (STARTED - MINUTE, True),  # whoever walked round has seen the rigged aircraft
        (STARTED, True),
        (STARTED + MINUTE, False),
        (NOW, False),
    ],
)
def test_rigging_told_afterwards_counts_by_when_it_was_done(
    aircraft: Aircraft, pilot: Membership, second: Membership, occurred_at: datetime, still: bool
) -> None:
    walk(aircraft, by=pilot, second=second)
    events.record_rigging(
        aircraft_id=aircraft.id,
        by=pilot,
        at=NOON,
        kind="rigged",
        occurred_at=occurred_at,
    )
    assert ready(aircraft, NOON) is still
    assert "rigging_check_missing" in rules(aircraft, NOON)


def test_an_occurrence_told_afterwards_cancels_even_if_it_happened_before(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    walk(aircraft, by=pilot, second=second)
    occurrence(aircraft, occurred_at=STARTED - MINUTE)
    assert not ready(aircraft, NOON)


def test_a_critical_defect_told_afterwards_cancels_even_if_it_was_found_before(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    walk(aircraft, by=pilot, second=second)
    reported(aircraft, at=NOON, found_at=STARTED - MINUTE, critical=True)
    assert not ready(aircraft, NOON)


def test_a_known_grounded_aircraft_can_be_inspected(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    reported(aircraft, at=STARTED - MINUTE, critical=True)
    done = walk(aircraft, by=pilot, second=second)
    assert (done.verdict.ready_today, done.verdict.status.code) == (True, "grounded")


def test_work_begun_before_and_put_down_after_the_inspection_cancels_by_when_it_was_done(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership
) -> None:
    defect = assessed(aircraft, at=STARTED - 10 * MINUTE, critical=True)
    walk(aircraft, by=pilot, second=second)
    attempt(RECTIFY, defect, by=inspector, at=NOON, performed_at=STARTED - MINUTE)
    assert ready(aircraft, NOON)  # it has seen the work; the aircraft stays grounded until the release
    assert "rectification_unreleased" in rules(aircraft, NOON)


def test_after_rigging_both_inspections_are_needed(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    walk(aircraft, by=pilot, second=second)
    rig(aircraft, at=NOON)
    done = walk(aircraft, by=pilot, second=second, at=NOON + LENGTH, kind=InspectionKind.AFTER_RIGGING)
    assert (done.verdict.status.code, done.verdict.ready_today) == ("serviceable", False)
    again = walk(aircraft, by=pilot, second=second, at=AFTERNOON)
    assert (again.verdict.status.code, again.verdict.ready_today) == ("serviceable", True)
