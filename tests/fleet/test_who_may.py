"""Every act on the register and on people, by every role."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from fleet.errors import Forbidden
from fleet.models import Aircraft, Authorisation, Document, Item, Membership, Role
from fleet.services import people, register
from tests.factories import NOW, PASSWORD, PLAIN
from tests.fleet.conftest import Everybody
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

Act = Callable[[Aircraft, Membership], Any]


def change_document(aircraft: Aircraft, by: Membership) -> Any:
    document = Document.objects.filter(aircraft=aircraft).order_by("kind")[0]
    return register.change_document(aircraft, document, by=by, at=NOW, changes={"reference": "7"})


def add_document(aircraft: Aircraft, by: Membership) -> Any:
    kind, issued_on = "weighing_report", date(2025, 1, 1)
    return register.add_document(aircraft_id=aircraft.id, by=by, at=NOW, kind=kind, issued_on=issued_on)


def change_item(aircraft: Aircraft, by: Membership) -> Any:
    return register.change_item(Item.objects.get(code=PLAIN), by=by, at=NOW, changes={"title": "Tape"})


def add_item(aircraft: Aircraft, by: Membership) -> Any:
    words: dict[str, Any] = {"code": "skid", "title": "Skid", "zone": "tail", "critical": False}
    return register.add_item(aircraft_type=aircraft.aircraft_type, by=by, at=NOW, **words)


def add_type(aircraft: Aircraft, by: Membership) -> Any:
    words: dict[str, Any] = {"designation": "Gull 1", "manufacturer": "Invented Works", "category": "aeroplane"}
    return register.add_type(by=by, at=NOW, **words)


def change_type(aircraft: Aircraft, by: Membership) -> Any:
    return register.change_type(aircraft.aircraft_type, by=by, at=NOW, changes={"seats": 1})


def add_aircraft(aircraft: Aircraft, by: Membership) -> Any:
    words: dict[str, Any] = {"registration": "ZZ-NEW", "serial_number": "new"}
    return register.add_aircraft(aircraft_type=aircraft.aircraft_type, by=by, at=NOW, **words)


def change_aircraft(aircraft: Aircraft, by: Membership) -> Any:
    return register.change_aircraft(aircraft, by=by, at=NOW, changes={"base": "East field"})


KEPT: dict[str, Act] = {
    "add a type": add_type,
    "change a type": change_type,
    "add an item": add_item,
    "change an item": change_item,
    "add an aircraft": add_aircraft,
    "change an aircraft": change_aircraft,
    "add a document": add_document,
    "change a document": change_document,
}


def _pilot(aircraft: Aircraft) -> Membership:
    return aircraft.club.memberships.select_related("person", "club").get(person__username="only-pilot")


def enrol(aircraft: Aircraft, by: Membership) -> Any:
    words: dict[str, Any] = {"username": "new", "full_name": "New Invented", "roles": ["pilot"], "password": PASSWORD}
    return people.enrol(club=aircraft.club, by=by, at=NOW, **words)


def change_member(aircraft: Aircraft, by: Membership) -> Any:
    return people.change_member(_pilot(aircraft), by=by, at=NOW, changes={"roles": ["pilot", "inspector"]})


def authorise(aircraft: Aircraft, by: Membership) -> Any:
    scope: dict[str, Any] = {
        "licence_number": "ZZ.66.7",
        "privileges": ["release"],
        "categories": ["sailplane"],
        "valid_from": date(2025, 1, 1),
        "valid_until": date(2026, 1, 1),
        "issued_by": "Invented Authority",
    }
    return people.authorise(member=_pilot(aircraft), by=by, at=NOW, **scope)


def change_authorisation(aircraft: Aircraft, by: Membership) -> Any:
    held = Authorisation.objects.get(membership=_pilot(aircraft))
    return people.change_authorisation(held, by=by, at=NOW, changes={"revoked": True})


def change_settings(aircraft: Aircraft, by: Membership) -> Any:
    return people.change_settings(aircraft.club, by=by, at=NOW, changes={"triage_limit_days": 2})


ADMINISTERED: dict[str, Act] = {
    "enrol a member": enrol,
    "change a member": change_member,
    "authorise": authorise,
    "change an authorisation": change_authorisation,
    "change the settings": change_settings,
}
KEEPERS = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}
CASES = [(what, act, KEEPERS) for what, act in KEPT.items()]
CASES += [(what, act, {Role.ADMINISTRATOR}) for what, act in ADMINISTERED.items()]


@pytest.mark.parametrize(("what", "act", "may"), CASES, ids=[case[0] for case in CASES])
def test_who_may(aircraft: Aircraft, everybody: Everybody, what: str, act: Act, may: set[Role]) -> None:
    for role, member in everybody.items():
        if role in may:
            with taken_back():
                act(aircraft, member)
            continue
        with unchanged(), pytest.raises(Forbidden) as refusal:
            act(aircraft, member)
        assert refusal.value.code == "role", role


@pytest.mark.parametrize(("what", "act", "may"), CASES, ids=[case[0] for case in CASES])
def test_who_has_left_may_nothing(
    aircraft: Aircraft, everybody: Everybody, what: str, act: Act, may: set[Role]
) -> None:
    gone = everybody[Role.ADMINISTRATOR]
    gone.active = False
    gone.save()
    with unchanged(), pytest.raises(Forbidden):
        act(aircraft, gone)
