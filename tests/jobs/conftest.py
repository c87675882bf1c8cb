"""What the tests of scheduled jobs start from."""

import pytest

from fleet.models import Aircraft
from tests.scenes import an_aircraft


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """A serviceable aircraft."""
    return an_aircraft()
