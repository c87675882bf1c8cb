"""Authorisations: recorded by somebody else, only ever narrowed."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from fleet.errors import Conflict, DomainError, Invalid
from fleet.models import Aircraft, AircraftCategory, Authorisation, Club, Event, Membership, Privilege, Role
from fleet.permissions import authorisation_for
from fleet.services import people
from tests.factories import NOW, AircraftTypeFactory, ClubFactory, MemberFactory
from tests.fleet.conftest import Everybody
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

SCOPE: dict[str, Any] = {
    "licence_number": "ZZ.66.7",
    "privileges": ["release"],
    "categories": ["sailplane"],
    "valid_from": date(2025, 1, 1),
    "valid_until": date(2025, 12, 31),
    "issued_by": "Invented Authority",
}


@pytest.fixture
def inspector(everybody: Everybody) -> Membership:
    """An inspector whose earlier authorisation is gone."""
    member = everybody[Role.INSPECTOR]
    Authorisation.objects.filter(membership=member).delete()
    return member


def authorise(member: Membership, by: Membership | None, **changes: Any) -> Authorisation:
    return people.authorise(member=member, by=by, at=NOW, **SCOPE | changes)


def change(held: Authorisation, by: Membership, **changes: Any) -> Authorisation:
    return people.change_authorisation(held, by=by, at=NOW, changes=changes)


def test_an_authorisation_is_recorded_and_told(inspector: Membership, administrator: Membership) -> None:
    held = authorise(inspector, administrator, privileges=["release", "release"], categories=["sailplane", "aeroplane"])
    assert (held.privileges, held.categories) == (["release"], ["aeroplane", "sailplane"])
    (event,) = Event.objects.filter(kind="authorisation_add", subject_id=held.id)
    assert event.by == administrator
    assert '"licence_number":"ZZ.66.7"' in event.canonical


def test_nobody_records_an_authorisation_of_their_own(club: Club, administrator: Membership) -> None:
    administrator.roles = ["administrator", "inspector"]
    administrator.save()
    with unchanged(), pytest.raises(Conflict) as refusal:
        authorise(administrator, administrator)
    assert refusal.value.code == "own_authorisation"


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"valid_until": date(2024, 12, 31)}, "/valid_until", "out_of_order"),
        ({"aircraft_types": "of another club"}, "/aircraft_types", "unknown_type"),
    ],
)
def test_an_authorisation_that_cannot_be(
    inspector: Membership, administrator: Membership, changes: dict[str, Any], pointer: str, code: str
) -> None:
    if "aircraft_types" in changes:
        changes = {"aircraft_types": [AircraftTypeFactory.create(club=ClubFactory.create()).id]}
    with unchanged(), pytest.raises(Invalid) as refusal:
        authorise(inspector, administrator, **changes)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"licence_number": ""}, "authorisation_has_licence"),
        ({"privileges": []}, "authorisation_privileges_known"),
        ({"privileges": ["fly"]}, "authorisation_privileges_known"),
        ({"categories": []}, "authorisation_categories_known"),
        ({"categories": ["balloon"]}, "authorisation_categories_known"),
    ],
)
def test_the_database_refuses_an_empty_or_unknown_scope(
    inspector: Membership, administrator: Membership, changes: dict[str, Any], constraint: str
) -> None:
    with unchanged(), taken_back(), pytest.raises(Exception, match=constraint):
        authorise(inspector, administrator, **changes)


def test_it_is_shortened_and_never_prolonged(inspector: Membership, administrator: Membership) -> None:
    held = authorise(inspector, administrator)
    with unchanged(), pytest.raises(Invalid) as refusal:
        change(held, administrator, valid_until=date(2026, 1, 1))
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/valid_until", "longer")]
    with unchanged(), pytest.raises(DomainError):
        change(held, administrator, valid_until=date(2024, 12, 31))
    assert change(held, administrator, valid_until=date(2025, 6, 30)).valid_until == date(2025, 6, 30)
    (event,) = Event.objects.filter(kind="authorisation_change")
    assert '"valid_until":{"after":"2025-06-30","before":"2025-12-31"}' in event.canonical


def test_revoked_it_stays_revoked(inspector: Membership, administrator: Membership) -> None:
    held = authorise(inspector, administrator)
    assert change(held, administrator, revoked=True).revoked_at == NOW
    for changes in ({"revoked": True}, {"revoked": False}, {}):
        with unchanged():
            people.change_authorisation(held, by=administrator, at=datetime(2025, 6, 1, tzinfo=UTC), changes=changes)


@pytest.mark.parametrize(
    ("changes", "covers"),
    [
        ({}, True),
        ({"categories": [AircraftCategory.AEROPLANE]}, False),
        ({"privileges": [Privilege.INDEPENDENT_INSPECTION]}, False),
        ({"valid_from": date(2025, 5, 14), "valid_until": date(2025, 5, 14)}, True),
        ({"valid_from": date(2025, 5, 15)}, False),
        ({"valid_until": date(2025, 5, 13)}, False),
    ],
)
def test_what_an_authorisation_covers(
    aircraft: Aircraft, inspector: Membership, administrator: Membership, changes: dict[str, Any], covers: bool
) -> None:
    held = authorise(inspector, administrator, **changes)
    found = authorisation_for(inspector, aircraft, Privilege.RELEASE, NOW)
    assert found == (held if covers else None)


def test_it_covers_its_holder_alone(aircraft: Aircraft, inspector: Membership, administrator: Membership) -> None:
    authorise(inspector, administrator)
    other = MemberFactory.create(club=aircraft.club, roles=[Role.INSPECTOR])
    assert authorisation_for(other, aircraft, Privilege.RELEASE, NOW) is None
