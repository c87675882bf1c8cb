"""Rigging: grounds until a complete inspection that began afterwards, with a second person."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from fleet.errors import Forbidden, Invalid, NotFound
from fleet.models import Aircraft, Event, Membership, Role
from inspections.models import InspectionKind, RiggingEvent
from inspections.services import events
from tests.factories import NOW, ClubFactory, MemberFactory
from tests.inspections.walks import LENGTH, rules, walk
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
AFTER_RIGGING = InspectionKind.AFTER_RIGGING


def rigging(aircraft: Aircraft, by: Membership, **sent: Any) -> Any:
    """A rigging event that is told at ``NOW``."""
    given: dict[str, Any] = {"kind": "rigged", "occurred_at": NOW, "at": NOW} | sent
    return events.record_rigging(aircraft_id=aircraft.id, by=by, **given)


@pytest.mark.parametrize("kind", RiggingEvent.Kind)
def test_rigging_and_derigging_ground(aircraft: Aircraft, pilot: Membership, kind: str) -> None:
    event, verdict = rigging(aircraft, pilot, kind=kind)
    assert [reason.rule for reason in verdict.reasons] == ["rigging_check_missing"]
    assert verdict.status.code == "grounded"
    assert RiggingEvent.objects.get() == event
    assert Event.objects.filter(kind=f"aircraft_{kind}", subject_id=event.id).count() == 1


@pytest.mark.parametrize(
    ("started_at", "cleared"),
    [(NOW - MINUTE, False), (NOW, True), (NOW + MINUTE, True)],
)
def test_only_an_inspection_that_began_afterwards_clears_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, started_at: datetime, cleared: bool
) -> None:
    rigging(aircraft, pilot)
    at = NOW + LENGTH
    walk(aircraft, by=pilot, second=second, at=at, kind=AFTER_RIGGING, started_at=started_at)
    assert ("rigging_check_missing" not in rules(aircraft, at)) is cleared


@pytest.mark.parametrize("kind", [InspectionKind.DAILY, InspectionKind.UNSCHEDULED])
def test_no_other_inspection_clears_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership, kind: InspectionKind
) -> None:
    rigging(aircraft, pilot)
    walk(aircraft, by=inspector, second=second, at=NOW + LENGTH, kind=kind)
    assert "rigging_check_missing" in rules(aircraft, NOW + LENGTH)


def test_the_latest_rigging_counts_in_whatever_order_it_is_told(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    rigging(aircraft, pilot, occurred_at=NOW)
    walk(aircraft, by=pilot, second=second, at=NOW + LENGTH, kind=AFTER_RIGGING)
    rigging(aircraft, pilot, occurred_at=NOW - 5 * MINUTE, at=NOW + LENGTH)  # an earlier one, told late
    assert "rigging_check_missing" not in rules(aircraft, NOW + LENGTH)
    rigging(aircraft, pilot, occurred_at=NOW + LENGTH, at=NOW + LENGTH)
    assert "rigging_check_missing" in rules(aircraft, NOW + LENGTH)


@pytest.mark.parametrize("role", Role)
def test_who_tells_of_rigging(aircraft: Aircraft, role: Role) -> None:
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    if role in (Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR):
        rigging(aircraft, member)
        return
    with unchanged(), pytest.raises(Forbidden):
        rigging(aircraft, member)


def test_rigging_to_come_is_refused(aircraft: Aircraft, pilot: Membership) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        rigging(aircraft, pilot, occurred_at=NOW + 6 * MINUTE)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/occurred_at", "in_future")]


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    with unchanged(), taken_back(), pytest.raises(NotFound):
        rigging(aircraft, MemberFactory.create(club=ClubFactory.create()))
