"""Reporting: who may, what cannot be right, numbering, and that it counts from its instant."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from defects.models import Defect
from defects.services import reports
from fleet.errors import DomainError, Forbidden, NotFound
from fleet.models import Aircraft, Event, Role
from tests.factories import (
    CRITICAL,
    NOW,
    PLAIN,
    AircraftTypeFactory,
    ClubFactory,
    ItemFactory,
    MemberFactory,
    fresh,
    make_aircraft,
    reported,
)
from tests.unchanged import taken_back, unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("role", Role)
def test_any_member_reports_but_an_auditor(aircraft: Aircraft, role: Role) -> None:
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    if role != Role.AUDITOR:
        assert reported(aircraft, by=member).reported_by == member
        return
    with unchanged(), pytest.raises(Forbidden) as refusal:
        reported(aircraft, by=member)
    assert refusal.value.code == "role"


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    stranger = MemberFactory.create(club=ClubFactory.create())
    with unchanged(), pytest.raises(NotFound):
        reported(aircraft, by=stranger)


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [
        ({"item_code": "no-such-item"}, "/item", "unknown_item"),
        ({"item_code": "of-another-type"}, "/item", "unknown_item"),
        ({"found_at": NOW + timedelta(minutes=5, seconds=1)}, "/found_at", "in_future"),
        ({"follows": uuid4()}, "/follows", "not_closed"),
    ],
)
def test_a_report_that_cannot_be_right(aircraft: Aircraft, sent: dict[str, Any], pointer: str, code: str) -> None:
    ItemFactory.create(aircraft_type=AircraftTypeFactory.create(club=aircraft.club), code="of-another-type")
    with unchanged(), taken_back(), pytest.raises(DomainError) as refusal:
        reported(aircraft, **sent)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


def test_a_clock_that_runs_a_little_ahead_is_believed(aircraft: Aircraft) -> None:
    assert reported(aircraft, found_at=NOW + timedelta(minutes=5)).found_at == NOW + timedelta(minutes=5)


@pytest.mark.parametrize(
    ("item", "effects"),
    [
        (CRITICAL, {"critical_item_defect": "grounds"}),
        (None, {"unclassified_defect": "grounds"}),
        (PLAIN, {"untriaged_defect": "limits"}),
    ],
)
def test_a_defect_counts_from_the_instant_it_is_reported(
    aircraft: Aircraft, item: str | None, effects: dict[str, str]
) -> None:
    pilot = MemberFactory.create(club=aircraft.club)
    acted = reports.report(
        aircraft_id=aircraft.id, by=pilot, at=NOW, description="Play at the root.", found_at=NOW, item_code=item
    )
    assert effects_of(acted) == effects
    stored = fresh(aircraft).airworthiness
    assert (stored.status, stored.assessed_at) == (acted.verdict.status.code, NOW)
    assert stored.open_defects == 1
    assert (acted.defect.touched_critical_at is None) is (item == PLAIN)


def test_numbers_run_by_aircraft(aircraft: Aircraft) -> None:
    other = make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    numbers = [reported(one).number for one in (aircraft, other, aircraft, aircraft, other)]
    assert numbers == [1, 1, 2, 3, 2]


def test_everything_about_it_is_stored_and_told(aircraft: Aircraft) -> None:
    sent: dict[str, Any] = {
        "description": "Scratch along the spar.",
        "damage_kind": "scratch",
        "position": "left, 1.2 m from the root",
        "found_during": "flight",
        "found_at": NOW - timedelta(days=2),
        "defect_id": uuid4(),
    }
    reported(aircraft, occurrence=True, **sent)
    stored = Defect.objects.get(id=sent.pop("defect_id"))
    assert {name: getattr(stored, name) for name in sent} == sent
    assert stored.report_due_at == NOW + timedelta(hours=72)
    (event,) = Event.objects.filter(kind="defect_report")
    assert (event.subject_id, event.aircraft_id, event.recorded_at) == (stored.id, aircraft.id, NOW)
    assert '"position":"left, 1.2 m from the root"' in event.canonical
