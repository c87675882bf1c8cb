"""The same usage from several people at the same moment is recorded once."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from fleet.models import Aircraft, Role, UsageEntry, UsageTotal
from fleet.services import usage
from fleet.services.usage import Line, LinesRefused
from fleet.services.usage.files import import_file
from tests.factories import NOW, ClubFactory, MemberFactory, make_aircraft
from tests.factories.usage import opened

pytestmark = pytest.mark.django_db(transaction=True)
PEOPLE = 4
TABLE = b"date;minutes;winch\n2025-05-10;95;6\n2025-05-11;30;1\n"


@pytest.fixture
def aircraft() -> Aircraft:
    made = make_aircraft(ClubFactory.create())
    opened(made)
    return made


def at_once(act: Callable[[int], bool]) -> list[bool]:
    """What the act answers each of the people, who begin together."""
    gate = threading.Barrier(PEOPLE)

    def run(number: int) -> bool:
        gate.wait()
        try:
            return act(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(PEOPLE) as threads:
        return list(threads.map(run, range(PEOPLE)))


def test_one_file_is_imported_once(aircraft: Aircraft) -> None:
    pilots = [MemberFactory.create(club=aircraft.club, roles=[Role.PILOT]) for _ in range(PEOPLE)]

    def bring(number: int) -> bool:
        done = import_file(aircraft_id=aircraft.id, by=pilots[number], at=NOW, data=TABLE)
        return len(done.entries) == 2

    assert sorted(at_once(bring)) == [False, False, False, True]
    assert UsageEntry.objects.filter(source="csv").count() == 2
    assert UsageTotal.objects.get(aircraft=aircraft).airframe_minutes == 60_125


def test_one_flight_is_recorded_once(aircraft: Aircraft) -> None:
    pilots = [MemberFactory.create(club=aircraft.club, roles=[Role.PILOT]) for _ in range(PEOPLE)]
    line = Line(takeoff_at=NOW.replace(hour=6), landing_at=NOW.replace(hour=7), winch_launches=1)

    def enter(number: int) -> bool:
        try:
            usage.record(aircraft_id=aircraft.id, by=pilots[number], at=NOW, lines=[line], source="manual")
        except LinesRefused:
            return False
        return True

    assert sorted(at_once(enter)) == [False, False, False, True]
    assert UsageTotal.objects.get(aircraft=aircraft).launches == 2_001
