"""Registration marks, entered through the register."""

import pytest

from fleet.errors import Invalid
from fleet.models import Aircraft, Role
from fleet.services import register
from tests.factories import NOW, fresh
from tests.outside.conftest import Everybody
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db


def add(aircraft: Aircraft, everybody: Everybody, mark: str) -> Aircraft:
    by = everybody[Role.TECHNICAL_OFFICER]
    made, _verdict = register.add_aircraft(
        aircraft_type=aircraft.aircraft_type, by=by, at=NOW, registration=mark, serial_number=mark
    )
    return made


@pytest.mark.parametrize(
    "mark",
    [
        # Check value T60: ICAO Annex 7 (OH-LZA read, OE-5123 read), 14 CFR 47.15 (N123AB from memory, reproduced).
        "OH-LZA",
        "N123AB",
        "OE-5123",
        # AX7-1, test line: Annex 7; a mark that begins with a digit.
        "OH-952",
        "ZZ-K01",  # a nationality mark that no state has: ours
    ],
)
def test_a_well_formed_mark_is_registered(aircraft: Aircraft, everybody: Everybody, mark: str) -> None:
    assert fresh(add(aircraft, everybody, mark)).registration == mark


@pytest.mark.parametrize(
    "mark",
    [
        # Check value T61: ICAO Annex 7 (OHLZA read), 14 CFR 47.15 (the others from memory, reproduced).
        "OHLZA",
        "N0123",
        "N12I",
        # AX7-2: distress, urgency and Q code (from memory, reproduced).
        "ZZ-SOS",
        "ZZ-PAN",
        "ZZ-QNH",
        "N-123",  # 14 CFR 47.15: no hyphen (from memory, reproduced)
    ],
)
def test_another_is_refused(aircraft: Aircraft, everybody: Everybody, mark: str) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        add(aircraft, everybody, mark)
    assert [one.pointer for one in refusal.value.errors] == ["/registration"]
