"""Ballast: unknown grounds for the day; drained and put down in a complete inspection, it is known."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from fleet.models import Aircraft, Membership
from inspections.models import InspectionKind
from tests.factories import BALLAST, CRITICAL, MEASURED, NOW, PLAIN, TWO_PERSON, ItemFactory, publish_sheet
from tests.inspections.walks import Changes, rules, shown, walk

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
UNKNOWN: Changes = {BALLAST: {"value": None, "unit": ""}}
LEFT_OUT: Changes = {BALLAST: None}
STUCK: Changes = {BALLAST: {"value": None, "unit": "", "outcome": "defect", "description": "Valve stuck."}}
HALF_DONE: Changes = {PLAIN: None}  # the ballast is put down, but the inspection is not complete
MIDNIGHT = datetime(2025, 5, 14, 22, 0, tzinfo=UTC)  # in the club's zone


def grounded_by_ballast(aircraft: Aircraft, at: datetime) -> bool:
    return "ballast_unknown" in rules(aircraft, at)


@pytest.mark.parametrize("changes", [UNKNOWN, LEFT_OUT, STUCK])
def test_unknown_ballast_grounds_today(
    aircraft: Aircraft, pilot: Membership, second: Membership, changes: Changes
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes=changes)
    assert done.inspection.ballast_known is False
    assert done.verdict.status.code == "grounded"
    assert grounded_by_ballast(aircraft, NOW)
    assert grounded_by_ballast(aircraft, MIDNIGHT - timedelta(microseconds=1))
    assert not grounded_by_ballast(aircraft, MIDNIGHT)  # tomorrow has its own inspection
    assert not shown(aircraft, MIDNIGHT)["ready_today"]


@pytest.mark.parametrize("amount", ["0", "5"])
def test_known_ballast_does_not_ground(aircraft: Aircraft, pilot: Membership, second: Membership, amount: str) -> None:
    done = walk(aircraft, by=pilot, second=second, changes={BALLAST: {"value": Decimal(amount), "unit": "L"}})
    assert done.inspection.ballast_known is True
    assert (done.verdict.status.code, done.verdict.ready_today) == ("serviceable", True)


def test_a_complete_inspection_that_knows_clears_it(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    walk(aircraft, by=pilot, second=second, changes=UNKNOWN)
    done = walk(aircraft, by=pilot, second=second, at=NOW + HOUR)
    assert (done.verdict.status.code, done.verdict.ready_today) == ("serviceable", True)


def test_an_incomplete_inspection_does_not_clear_it(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    walk(aircraft, by=pilot, second=second, changes=UNKNOWN)
    done = walk(aircraft, by=pilot, second=second, at=NOW + HOUR, changes=HALF_DONE)
    assert done.inspection.ballast_known is True
    assert done.verdict.status.code == "grounded"
    assert grounded_by_ballast(aircraft, NOW + HOUR)


def test_an_older_sheet_without_ballast_does_not_clear_it(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    older = publish_sheet(aircraft.aircraft_type, codes=[CRITICAL, MEASURED, PLAIN, TWO_PERSON])
    publish_sheet(aircraft.aircraft_type)
    walk(aircraft, by=pilot, second=second, changes=UNKNOWN)
    done = walk(aircraft, by=pilot, second=second, at=NOW + HOUR, sheet=older)
    assert (done.inspection.complete, done.inspection.ballast_known) == (True, None)
    assert done.verdict.status.code == "grounded"


@pytest.mark.parametrize("complete", [True, False])
def test_known_and_later_unknown_grounds(
    aircraft: Aircraft, pilot: Membership, second: Membership, complete: bool
) -> None:
    walk(aircraft, by=pilot, second=second)
    done = walk(aircraft, by=pilot, second=second, at=NOW + HOUR, changes=STUCK if complete else LEFT_OUT)
    assert done.inspection.complete is complete
    assert grounded_by_ballast(aircraft, NOW + HOUR)


@pytest.mark.parametrize("kind", [InspectionKind.AFTER_RIGGING, InspectionKind.UNSCHEDULED])
def test_only_a_daily_inspection_says_what_is_on_board_today(
    aircraft: Aircraft, inspector: Membership, pilot: Membership, second: Membership, kind: InspectionKind
) -> None:
    walk(aircraft, by=pilot, second=second, changes=UNKNOWN)
    walk(aircraft, by=inspector, second=second, at=NOW + HOUR, kind=kind)
    assert grounded_by_ballast(aircraft, NOW + HOUR)


def test_every_ballast_line_is_needed(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    ItemFactory.create(aircraft_type=aircraft.aircraft_type, code="wing-tank", ballast=True)
    sheet = publish_sheet(aircraft.aircraft_type)
    one_only: dict[str, dict[str, Any] | None] = {"wing-tank": None}
    assert walk(aircraft, by=pilot, second=second, sheet=sheet, changes=one_only).inspection.ballast_known is False


def test_a_walk_sent_late_does_not_undo_a_later_one(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    walk(aircraft, by=pilot, second=second, at=NOW)
    sent_late: dict[str, Any] = {"started_at": NOW - 2 * HOUR, "completed_at": NOW - HOUR}
    walk(aircraft, by=pilot, second=second, at=NOW + HOUR, changes=UNKNOWN, **sent_late)
    assert not grounded_by_ballast(aircraft, NOW + HOUR)
