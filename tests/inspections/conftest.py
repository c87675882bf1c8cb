"""What the tests of inspections start from."""

import pytest

from fleet.models import Aircraft, Membership, Role
from tests.factories import ClubFactory, InspectorFactory, MemberFactory, fresh, make_aircraft
from tests.scenes import FREE, scene


def _build() -> None:
    aircraft = make_aircraft(ClubFactory.create(), ballast=True)
    MemberFactory.create(club=aircraft.club, username="first")
    MemberFactory.create(club=aircraft.club, username="other")
    MemberFactory.create(club=aircraft.club, username="officer", roles=[Role.TECHNICAL_OFFICER])
    InspectorFactory.create(club=aircraft.club, username="inspector", roles=[Role.INSPECTOR], member_id=FREE)


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """A serviceable aircraft with every sort of item, a ballast tank among them."""
    scene("a ballasted aircraft", _build)
    return fresh(Aircraft.objects.get())


def _member(aircraft: Aircraft, username: str) -> Membership:
    return aircraft.club.memberships.select_related("person", "club").get(person__username=username)


@pytest.fixture
def pilot(aircraft: Aircraft) -> Membership:
    """Whoever walks round."""
    return _member(aircraft, "first")


@pytest.fixture
def second(aircraft: Aircraft) -> Membership:
    """A second pilot."""
    return _member(aircraft, "other")


@pytest.fixture
def officer(aircraft: Aircraft) -> Membership:
    """The technical officer."""
    return _member(aircraft, "officer")


@pytest.fixture
def inspector(aircraft: Aircraft) -> Membership:
    """An authorised inspector."""
    return _member(aircraft, "inspector")
