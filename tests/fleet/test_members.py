"""Members: enrolment, roles, the last administrator, leaving."""

from typing import Any

import pytest

from fleet.errors import Conflict, Invalid
from fleet.models import Club, Event, Membership, Person, Role
from fleet.services import access, people
from tests.factories import NOW, PASSWORD, ClubFactory, MemberFactory
from tests.fleet.conftest import Everybody
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db


def enrol(club: Club, by: Membership, **words: Any) -> Membership:
    given: dict[str, Any] = {"username": "new", "full_name": "New Invented", "roles": ["pilot"], "password": PASSWORD}
    return people.enrol(club=club, by=by, at=NOW, **given | words)


def change(member: Membership, by: Membership, **changes: Any) -> Membership:
    return people.change_member(member, by=by, at=NOW, changes=changes)


def test_a_new_member_can_sign_in_and_is_told_of_without_the_password(club: Club, administrator: Membership) -> None:
    member = enrol(club, administrator, roles=["pilot", "inspector", "pilot"], email="new@example.org")
    assert member.roles == ["inspector", "pilot"]
    assert member.person.check_password(PASSWORD)
    (event,) = Event.objects.filter(kind="member_add", subject_id=member.id)
    assert PASSWORD not in event.canonical
    assert "example.org" not in event.canonical
    assert access.active_memberships(member.person) == [member]


@pytest.mark.parametrize(
    ("words", "pointer", "code"),
    [
        ({"username": "only-pilot"}, "/username", "taken"),
        ({"username": "ONLY-Pilot"}, "/username", "taken"),
        ({"password": "short"}, "/password", "too_weak"),
        ({"password": "1q2w3e4r5t6y"}, "/password", "too_weak"),
        ({"username": "wind.sock", "password": "wind.sock.1"}, "/password", "too_weak"),
    ],
)
def test_an_enrolment_that_cannot_be(
    club: Club, administrator: Membership, words: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        enrol(club, administrator, **words)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


@pytest.mark.parametrize("roles", [[], ["captain"], ["pilot", "captain"]])
def test_a_member_holds_known_roles(club: Club, administrator: Membership, roles: list[str]) -> None:
    with unchanged(), taken_back(), pytest.raises(Exception, match="membership_roles_known"):
        enrol(club, administrator, roles=roles)


@pytest.mark.parametrize("changes", [{"active": False}, {"roles": ["pilot"]}, {"roles": ["pilot"], "active": True}])
def test_the_last_administrator_stays(club: Club, administrator: Membership, changes: dict[str, Any]) -> None:
    gone = MemberFactory.create(club=club, roles=[Role.ADMINISTRATOR])
    gone.active = False
    gone.save()
    MemberFactory.create(club=ClubFactory.create(), roles=[Role.ADMINISTRATOR])
    with unchanged(), pytest.raises(Conflict) as refusal:
        change(administrator, administrator, **changes)
    assert refusal.value.code == "last_administrator"


@pytest.mark.parametrize("changes", [{"active": False}, {"roles": ["pilot"]}])
def test_with_another_administrator_one_may_go(club: Club, administrator: Membership, changes: dict[str, Any]) -> None:
    MemberFactory.create(club=club, roles=[Role.ADMINISTRATOR, Role.PILOT])
    change(administrator, administrator, **changes)
    assert Membership.objects.filter(club=club, active=True, roles__contains=["administrator"]).count() == 1


def test_the_last_administrator_may_take_another_role_as_well(administrator: Membership) -> None:
    assert change(administrator, administrator, roles=["administrator", "pilot"]).roles == ["administrator", "pilot"]


def test_who_has_left_is_no_longer_a_member_of_anything(everybody: Everybody, administrator: Membership) -> None:
    pilot = everybody[Role.PILOT]
    token, secret = access.issue_token(by=pilot, name="phone", at=NOW)
    assert access.token_in_force(secret=secret, at=NOW) == token
    change(pilot, administrator, active=False)
    assert access.token_in_force(secret=secret, at=NOW) is None
    assert access.active_memberships(pilot.person) == []
    change(pilot, administrator, active=True)
    assert access.token_in_force(secret=secret, at=NOW) == token


def test_a_change_is_told_and_the_address_is_not(everybody: Everybody, administrator: Membership) -> None:
    pilot = everybody[Role.PILOT]
    change(pilot, administrator, full_name="Renamed Invented", email="p@example.org", roles=["pilot", "auditor"])
    assert Person.objects.get(id=pilot.person_id).email == "p@example.org"
    (event,) = Event.objects.filter(kind="member_change")
    assert "Renamed Invented" in event.canonical
    assert "example.org" not in event.canonical
    assert '"roles":{"after":["auditor","pilot"],"before":["pilot"]}' in event.canonical


def test_what_does_not_differ_is_no_change(everybody: Everybody, administrator: Membership) -> None:
    with unchanged():
        change(everybody[Role.PILOT], administrator, roles=["pilot", "pilot"], active=True)
