"""What the checks against published things start from."""

import pytest

from fleet.models import Aircraft, Membership, Role
from tests.scenes import an_aircraft_and_everybody, roles_in

Everybody = dict[Role, Membership]


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """A serviceable aircraft."""
    return an_aircraft_and_everybody()


@pytest.fixture
def everybody(aircraft: Aircraft) -> Everybody:
    """A member of each role, who holds no other; all of them hold an authorisation."""
    return roles_in(aircraft.club)
