"""What the tests of the register start from."""

import pytest

from fleet.models import Aircraft, Club, Membership, Role
from tests.scenes import an_aircraft_and_everybody, roles_in

Everybody = dict[Role, Membership]


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """A serviceable aircraft."""
    return an_aircraft_and_everybody()


@pytest.fixture
def club(aircraft: Aircraft) -> Club:
    """Its club."""
    return aircraft.club


@pytest.fixture
def everybody(club: Club) -> Everybody:
    """A member of each role, who holds no other."""
    return roles_in(club)


@pytest.fixture
def officer(everybody: Everybody) -> Membership:
    """The technical officer."""
    return everybody[Role.TECHNICAL_OFFICER]


@pytest.fixture
def administrator(everybody: Everybody) -> Membership:
    """The only administrator."""
    return everybody[Role.ADMINISTRATOR]
