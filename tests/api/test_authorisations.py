"""Inspectors' authorisations over HTTP."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import Authorisation, Membership, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import AircraftTypeFactory

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/authorisations"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def body_for(member: Membership, **changes: Any) -> dict[str, Any]:
    body = {
        "member": str(member.id),
        "licence_number": "ZZ.66.0815",
        "privileges": ["independent_inspection", "release"],
        "categories": ["sailplane"],
        "aircraft_types": [],
        "valid_from": "2025-01-01",
        "valid_until": "2090-12-31",
        "issued_by": "Invented Authority",
    }
    return body | changes


def one_of(cast: Cast) -> str:
    return f"{ADDRESS}/{Authorisation.objects.get(membership=cast.members[Role.INSPECTOR]).id}"


def test_an_authorisation_is_recorded_with_its_scope(cast: Cast) -> None:
    kites = sorted(str(AircraftTypeFactory.create(club=cast.club).id) for _ in range(2))
    body = body_for(cast.members[Role.INSPECTOR], aircraft_types=kites)
    made = created(cast.administrator, ADDRESS, body)
    assert made.items() >= body.items()
    assert made["revoked_at"] is None


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"licence_number": " "}, "/licence_number", "blank"),
        ({"privileges": []}, "/privileges", "min_length"),
        ({"privileges": ["fly"]}, "/privileges/0", "invalid_choice"),
        ({"categories": []}, "/categories", "min_length"),
        ({"aircraft_types": [str(uuid4())]}, "/aircraft_types", "unknown_type"),
        ({"valid_until": "2024-12-31"}, "/valid_until", "out_of_order"),
        ({"issued_by": ""}, "/issued_by", "blank"),
        ({"revoked": True}, "/revoked", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    before = Authorisation.objects.count()
    body = body_for(cast.members[Role.INSPECTOR], **wrong)
    assert pointers(problem(cast.administrator.post(ADDRESS, body), 422, "invalid")) == {pointer: code}
    assert Authorisation.objects.count() == before


def test_nobody_authorises_themselves(cast: Cast) -> None:
    answer = cast.administrator.post(ADDRESS, body_for(cast.members[Role.ADMINISTRATOR]))
    assert problem(answer, 409, "conflict")["code"] == "own_authorisation"


def test_members_and_types_of_another_club_are_not_there(cast: Cast) -> None:
    other = make_cast()
    answer = cast.administrator.post(ADDRESS, body_for(other.members[Role.INSPECTOR]))
    assert pointers(problem(answer, 404, "not_found")) == {"/member": "not_found"}
    foreign = [str(AircraftTypeFactory.create(club=other.club).id)]
    answer = cast.administrator.post(ADDRESS, body_for(cast.members[Role.INSPECTOR], aircraft_types=foreign))
    assert pointers(problem(answer, 422, "invalid")) == {"/aircraft_types": "unknown_type"}


def test_only_administrators_write(cast: Cast) -> None:
    only_for(cast, {Role.ADMINISTRATOR}, "post", ADDRESS, body_for(cast.members[Role.INSPECTOR]))
    only_for(cast, {Role.ADMINISTRATOR}, "patch", one_of(cast), {"revoked": True})


def test_shortening_needs_the_current_version(cast: Cast) -> None:
    guarded(cast.administrator, one_of(cast), {"valid_until": "2089-01-01"})


def test_it_is_not_lengthened(cast: Cast) -> None:
    answer = change(cast.administrator, one_of(cast), {"valid_until": "2091-01-01"})
    assert pointers(problem(answer, 422, "invalid")) == {"/valid_until": "longer"}


def test_revoking_is_noted_once_and_not_undone(cast: Cast) -> None:
    before = timezone.now()
    done = change(cast.administrator, one_of(cast), {"revoked": True}).json()
    assert done["revoked_at"] >= (before - timedelta(seconds=1)).isoformat()
    assert change(cast.administrator, one_of(cast), {"revoked": True}).json() == done
    answer = change(cast.administrator, one_of(cast), {"revoked": False})
    assert pointers(problem(answer, 422, "invalid")) == {"/revoked": "not_undone"}
    assert cast.pilot.get(f"{ADDRESS}?revoked=true").json()["results"] == [done]
    assert cast.pilot.get(f"{ADDRESS}?revoked=false").json()["results"] == []


def test_another_club_sees_and_changes_nothing(cast: Cast) -> None:
    other = make_cast().administrator
    not_there(other, one_of(cast))
    problem(other.patch(one_of(cast), {"revoked": True}, headers={"If-Match": "*"}), 404, "not_found")
    member = cast.members[Role.INSPECTOR]
    assert other.get(f"{ADDRESS}?member={member.id}").json()["results"] == []


def test_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    member = cast.members[Role.INSPECTOR]
    cast.pilot.get(ADDRESS)  # notes the use of the token
    for count in (2, 3, 4):
        kite = AircraftTypeFactory.create(club=cast.club)
        created(cast.administrator, ADDRESS, body_for(member, aircraft_types=[str(kite.id)]))
        with django_assert_num_queries(3):  # token, authorisations, their types
            found = cast.pilot.get(f"{ADDRESS}?member={member.id}").json()["results"]
        assert len(found) == count
