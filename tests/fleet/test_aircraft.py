"""Types and aircraft of the register."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from fleet import assessment
from fleet.errors import Invalid, NotFound
from fleet.models import Aircraft, AssessmentPeriod, Event, EventChain, Membership, Role
from fleet.services import register
from tests.factories import NOW, ClubFactory, MemberFactory, fresh, make_aircraft, make_type
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db


def add(aircraft: Aircraft, by: Membership, **words: Any) -> Any:
    given = {"registration": "ZZ-NEW", "serial_number": "new"}
    return register.add_aircraft(aircraft_type=aircraft.aircraft_type, by=by, at=NOW, **given | words)


def test_a_new_aircraft_is_grounded_until_its_documents_are_there(aircraft: Aircraft, officer: Membership) -> None:
    new, verdict = add(aircraft, officer)
    assert verdict.status.code == "grounded"
    assert {reason.rule for reason in verdict.reasons} == {"document_expired"}
    stored = fresh(new).airworthiness
    assert (stored.status, stored.assessed_at, stored.shown_from) == ("grounded", NOW, NOW)
    period = AssessmentPeriod.objects.get(aircraft=new)
    assert (period.status, period.shown_from, period.shown_to) == ("grounded", NOW, None)
    chain = EventChain.objects.get(aircraft=new)
    assert [event.kind for event in chain.events.order_by("sequence")] == ["aircraft_add"]


@pytest.mark.parametrize("mark", ["", "zz-k01", "ZZ K01", "ZZ-K01-2", "ZZ-", "-K01", "ZZK01", "ZZ-SOS", "ZZ-QAB"])
def test_a_mark_that_is_not_well_formed_is_refused(aircraft: Aircraft, officer: Membership, mark: str) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        add(aircraft, officer, registration=mark)
    assert [one.pointer for one in refusal.value.errors] == ["/registration"]
    with unchanged(), pytest.raises(Invalid):
        register.change_aircraft(aircraft, by=officer, at=NOW, changes={"registration": mark})


@pytest.mark.parametrize(
    ("words", "constraint"),
    [
        ({"registration": None}, "one_registration_a_club"),
        ({"serial_number": None}, "one_serial_number_a_type"),
    ],
)
def test_mark_and_serial_number_are_given_once(
    aircraft: Aircraft, officer: Membership, words: dict[str, Any], constraint: str
) -> None:
    taken = {name: getattr(aircraft, name) for name in words}
    with unchanged(), pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        add(aircraft, officer, **taken)


def test_the_same_mark_in_another_club_and_the_same_number_of_another_type(
    aircraft: Aircraft, officer: Membership
) -> None:
    make_aircraft(ClubFactory.create(), registration=aircraft.registration)
    other_type = make_type(aircraft.club)
    register.add_aircraft(
        aircraft_type=other_type,
        by=officer,
        at=NOW,
        registration="ZZ-NEW",
        serial_number=aircraft.serial_number,
    )
    assert Aircraft.objects.filter(serial_number=aircraft.serial_number).count() == 2


def test_a_change_is_told_with_what_it_was(aircraft: Aircraft, officer: Membership) -> None:
    before = aircraft.registration
    locked = assessment.lock(aircraft.id, club_id=aircraft.club_id, at=NOW)
    register.change_aircraft(locked, by=officer, at=NOW, changes={"registration": "ZZ-RE1", "base": "West"})
    assert fresh(aircraft).registration == "ZZ-RE1"
    (event,) = Event.objects.filter(kind="aircraft_change")
    assert f'"registration":{{"after":"ZZ-RE1","before":"{before}"}}' in event.canonical
    assert event.by == officer


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    stranger = MemberFactory.create(club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER])
    with unchanged(), pytest.raises(NotFound):
        assessment.lock(aircraft.id, club_id=stranger.club_id, at=NOW)


def test_a_type_is_changed_and_told(aircraft: Aircraft, officer: Membership) -> None:
    changed = register.change_type(aircraft.aircraft_type, by=officer, at=NOW, changes={"seats": 1})
    assert changed.seats == 1
    (event,) = Event.objects.filter(kind="aircraft_type_change")
    assert '"seats":{"after":1,"before":2}' in event.canonical
    with unchanged():
        register.change_type(aircraft.aircraft_type, by=officer, at=NOW, changes={"seats": 1})


def test_a_refused_change_is_taken_back_whole(aircraft: Aircraft, officer: Membership) -> None:
    with unchanged(), taken_back(), pytest.raises(Invalid):
        register.change_aircraft(aircraft, by=officer, at=NOW, changes={"base": "West", "registration": "no"})
