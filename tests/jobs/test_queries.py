"""A sweep takes the same number of queries whatever the size of the fleet."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from defects.services import upkeep as of_defects
from fleet.models import Aircraft, AirworthinessState, Notification
from fleet.services import upkeep
from inspections.services import upkeep as of_inspections
from tests.factories import NOW, deferred, inspect, reported
from tests.jobs.fleets import add_copies
from tests.jobs.turns import TURNS, stored
from tests.unchanged import taken_back

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
SIZES = (1, 20, 100)


def queries(run: Callable[[], int], *, expected: int) -> int:
    with taken_back(), CaptureQueriesContext(connection) as seen:
        assert run() == expected
    return len(seen)


def with_a_reported_defect(aircraft: Aircraft) -> None:
    reported(aircraft)
    inspect(aircraft, at=NOW + timedelta(minutes=30))


def with_a_deferral(aircraft: Aircraft) -> None:
    deferred(aircraft)


def checked_after_tampering() -> int:
    AirworthinessState.objects.update(open_defects=99)
    return upkeep.reassess_everything(NOW + timedelta(hours=1))


SWEEPS: dict[str, tuple[Callable[[Aircraft], None], Callable[[], int]]] = {
    "midnight": (with_a_reported_defect, lambda: upkeep.reassess_due(TURNS["midnight"].at)),
    "after days": (with_a_reported_defect, lambda: upkeep.reassess_due(NOW + 9 * DAY)),
    "everything": (with_a_reported_defect, checked_after_tampering),
    "deferrals": (with_a_deferral, lambda: of_defects.expire_deferrals(NOW + 20 * DAY)),
}


@pytest.mark.parametrize("what", SWEEPS)
def test_a_sweep_is_constant(aircraft: Aircraft, what: str) -> None:
    build, run = SWEEPS[what]
    build(aircraft)
    counted = {}
    for size in SIZES:
        with taken_back():
            add_copies(aircraft, size - 1)
            counted[size] = queries(run, expected=size)
    assert len(set(counted.values())) == 1, counted
    assert counted[1] <= 40


def flagged_dailies() -> int:
    upkeep.reassess_due(TURNS["midnight"].at)
    return upkeep.flag_lapsed_dailies(TURNS["midnight"].at)


FLAGS: dict[str, tuple[Callable[[Aircraft], object], Callable[[], int]]] = {
    "dailies": (with_a_reported_defect, flagged_dailies),
    "deferrals": (with_a_deferral, lambda: of_defects.flag_deferrals(NOW + 8 * DAY)),
    "reports": (
        lambda aircraft: reported(aircraft, occurrence=True),
        lambda: of_defects.flag_reports(NOW + 2 * DAY),
    ),
}


@pytest.mark.parametrize("what", FLAGS)
def test_flagging_is_constant(aircraft: Aircraft, what: str) -> None:
    build, run = FLAGS[what]
    build(aircraft)
    counted = {}
    for size in SIZES:
        with taken_back():
            add_copies(aircraft, size - 1)
            counted[size] = queries(run, expected=size)
    assert len(set(counted.values())) == 1, counted


def test_with_nothing_to_do_a_sweep_asks_once(aircraft: Aircraft) -> None:
    add_copies(aircraft, 19)
    for run in (
        lambda: upkeep.reassess_due(NOW),
        lambda: upkeep.flag_lapsed_dailies(NOW),
        lambda: of_defects.expire_deferrals(NOW),
        lambda: of_defects.flag_deferrals(NOW),
        lambda: of_defects.flag_reports(NOW),
        lambda: of_inspections.flag_occurrences(NOW),
    ):
        assert queries(run, expected=0) <= 4  # two of them open and take back the savepoint
    assert Notification.objects.count() == 0


def test_a_large_fleet_goes_in_batches_each_its_own_transaction(
    aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    reported(aircraft)
    made = add_copies(aircraft, 24)
    monkeypatch.setattr(upkeep, "BATCH", 10)
    turn = TURNS["triage limit"]
    assert upkeep.reassess_due(turn.at) == 25
    assert {stored(one) for one in [aircraft, *made]} == {turn.after}
    assert not AirworthinessState.objects.filter(valid_until__lte=turn.at).exists()
