"""The self-check compares every stored verdict with the recomputed one; a difference is a fault, and is put right."""

import logging
from datetime import timedelta
from typing import Any

import pytest

from defects.lifecycle import State
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod
from fleet.services import upkeep
from tests.defects.attempts import IN_STATE
from tests.factories import NOW, fresh, inspect, make_aircraft, reported
from tests.jobs.turns import TURNS, stored
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(hours=1)


@pytest.mark.parametrize("state", State)
def test_after_every_act_the_stored_verdict_is_the_recomputed_one(aircraft: Aircraft, state: State) -> None:
    IN_STATE[state](aircraft)
    inspect(fresh(aircraft), at=NOW + timedelta(minutes=30))
    before = stored(aircraft)
    with unchanged(besides=("fleet_airworthinessstate",)):  # only the instant of the last look moves
        assert upkeep.reassess_everything(LATER) == 0
    assert stored(aircraft) == before


@pytest.mark.parametrize("turn", TURNS)
def test_time_that_nobody_noticed_is_no_fault(aircraft: Aircraft, turn: str) -> None:
    TURNS[turn].build(aircraft)
    assert upkeep.reassess_everything(TURNS[turn].at + timedelta(days=1)) == 0


@pytest.mark.parametrize(
    "tampering",
    [
        {"status": "serviceable"},
        {"status": "limited"},
        {"ready_today": True},
        {"reasons": []},
        {"status": "serviceable", "reasons": [], "limitations": []},
        {"limitations": ["as you like"]},
        {"open_defects": 0},
        {"next_due": None},
    ],
)
def test_a_tampered_verdict_is_found_logged_and_put_right(
    aircraft: Aircraft, caplog: pytest.LogCaptureFixture, tampering: dict[str, Any]
) -> None:
    sister = make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    reported(aircraft, critical=True)
    right = vars(fresh(aircraft).airworthiness)
    AirworthinessState.objects.filter(aircraft=aircraft).update(**tampering)
    assert upkeep.reassess_everything(LATER) == 1
    logged = [getattr(record, "aircraft", None) for record in caplog.records if record.levelno == logging.ERROR]
    assert logged == [str(aircraft.id)]
    state = fresh(aircraft).airworthiness
    assert {name: getattr(state, name) for name in tampering} == {name: right[name] for name in tampering}
    assert stored(aircraft)[0] == "grounded"
    assert stored(sister)[0] == "serviceable"
    assert upkeep.reassess_everything(LATER) == 0


def test_a_verdict_that_was_made_to_last_is_put_right(aircraft: Aircraft) -> None:
    reported(aircraft)
    AirworthinessState.objects.filter(aircraft=aircraft).update(valid_until=None)
    limit = TURNS["triage limit"].at
    assert upkeep.reassess_due(limit) == 0  # it is not due by what is stored ...
    assert upkeep.reassess_everything(limit) == 1  # ... and found all the same
    assert stored(aircraft) == TURNS["triage limit"].after


def test_the_open_period_follows_what_is_put_right(aircraft: Aircraft) -> None:
    reported(aircraft, critical=True)
    AirworthinessState.objects.update(status="serviceable", reasons=[])
    upkeep.reassess_everything(LATER)
    state = AirworthinessState.objects.get()
    period = AssessmentPeriod.objects.get(aircraft=aircraft, shown_to=None)
    assert (period.status, period.shown_from) == (state.status, state.shown_from)
