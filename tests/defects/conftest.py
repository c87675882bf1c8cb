"""What the tests of defects start from."""

import pytest

from fleet.models import Aircraft, Club
from tests.scenes import an_aircraft


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """A serviceable aircraft."""
    return an_aircraft()


@pytest.fixture
def club(aircraft: Aircraft) -> Club:
    """Its club."""
    return aircraft.club
