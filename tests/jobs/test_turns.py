"""What time alone changes: the new period begins at the very turn, whenever somebody notices, and no look flatters meanwhile."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from fleet import assessment
from fleet.models import Aircraft, AirworthinessState, Event
from fleet.services import showing, upkeep
from tests.factories import NOW, fresh, inspect, reported
from tests.jobs.turns import TURNS, Turn, look, periods, stored
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

MOMENT = timedelta(microseconds=1)
DAY = timedelta(days=1)
OUTAGES = [timedelta(0), MOMENT, timedelta(minutes=37), timedelta(hours=9)]


@pytest.fixture(params=TURNS)
def turn(request: pytest.FixtureRequest, aircraft: Aircraft) -> Turn:
    """Built on the aircraft."""
    one = TURNS[request.param]
    one.build(aircraft)
    return one


def test_nothing_turns_before_its_instant(aircraft: Aircraft, turn: Turn) -> None:
    upkeep.reassess_due(turn.at - MOMENT)
    assert stored(aircraft) == turn.before
    assert fresh(aircraft).airworthiness.valid_until == turn.at
    with unchanged():
        assert upkeep.reassess_due(turn.at - MOMENT) == 0


@pytest.mark.parametrize("outage", OUTAGES)
def test_the_period_begins_at_the_turn_however_late_the_job_runs(
    aircraft: Aircraft, turn: Turn, outage: timedelta
) -> None:
    upkeep.reassess_due(turn.at - MOMENT)
    assert upkeep.reassess_due(turn.at + outage) == 1
    assert stored(aircraft) == turn.after
    *_, before, after = periods(aircraft)
    assert (before[1], before[2]) == (turn.at, turn.before)
    assert (after[0], after[1], after[2]) == (turn.at, None, turn.after)
    with unchanged():
        assert upkeep.reassess_due(turn.at + outage) == 0  # a second run has nothing to do


def test_a_change_of_status_is_told_with_the_instant_of_the_turn(aircraft: Aircraft, turn: Turn) -> None:
    upkeep.reassess_due(turn.at - MOMENT)
    told = Event.objects.filter(kind="airworthiness_changed", aircraft=aircraft)
    before = told.count()
    upkeep.reassess_due(turn.at + DAY / 3)
    changed = turn.before[:2] != turn.after[:2]
    assert told.count() - before == changed
    if changed:
        latest = told.order_by("-sequence")[0]
        assert (latest.recorded_at, latest.by) == (turn.at, None)


def test_with_the_job_off_a_look_shows_what_is_and_stores_nothing(aircraft: Aircraft, turn: Turn) -> None:
    state = fresh(aircraft).airworthiness
    with unchanged():
        for instant, expected in ((turn.at - MOMENT, turn.before), (turn.at, turn.after)):
            assert look(assessment.shown_at(state, instant)) == expected
            assert look(showing.shown_now([state], instant)[aircraft.id]) == expected
            for status in ("serviceable", "limited", "grounded"):
                found = showing.with_status(Aircraft.objects.all(), status, instant)
                assert (aircraft in found) is (status == expected[0])


def test_an_act_finds_the_record_brought_up_to_the_turn(aircraft: Aircraft, turn: Turn) -> None:
    reported(aircraft, at=turn.at + timedelta(minutes=5), critical=True)
    shown = {since: what for since, _until, what, _reasons, _due in periods(aircraft)}
    assert shown[turn.at] == turn.after
    assert stored(aircraft)[0] == "grounded"


# runs on time, late, twice and after an outage -------------------------------------------------------------------------

LONG = NOW + 40 * DAY


def every_turn(aircraft: Aircraft) -> None:
    """All kinds of turns on one aircraft."""
    for name in ("expiry of a document", "end of a deferral", "triage limit", "decision limit"):
        TURNS[name].build(fresh(aircraft))
    inspect(fresh(aircraft), at=NOW + timedelta(minutes=30))


def on_time() -> None:
    for hours in range(40 * 24 + 1):
        upkeep.reassess_due(NOW + timedelta(hours=hours))


def only_after_the_outage() -> None:
    upkeep.reassess_due(LONG)


def twice_a_day_late_and_twice_over() -> None:
    for days in range(1, 41):
        upkeep.reassess_due(NOW + days * DAY)
        upkeep.reassess_due(NOW + days * DAY)


def out_of_order() -> None:
    for days in (9, 3, 5, 40, 12):  # a clock that jumps back changes nothing
        upkeep.reassess_due(NOW + days * DAY)


def history(aircraft: Aircraft) -> Any:
    told = (
        Event.objects.filter(aircraft=aircraft).order_by("sequence").values_list("kind", "recorded_at", "subject_type")
    )
    return periods(aircraft), list(told), stored(aircraft), fresh(aircraft).airworthiness.valid_until


@pytest.mark.parametrize("runs", [only_after_the_outage, twice_a_day_late_and_twice_over, out_of_order])
def test_however_the_job_runs_the_history_is_the_same(aircraft: Aircraft, runs: Any) -> None:
    every_turn(aircraft)
    with taken_back():
        on_time()
        expected = history(aircraft)
    runs()
    assert history(aircraft) == expected
    assert len(expected[0]) >= 7


def test_the_stored_verdict_names_its_next_turn(aircraft: Aircraft) -> None:
    every_turn(aircraft)
    seen: list[datetime] = []
    while (until := AirworthinessState.objects.get().valid_until) is not None and until < LONG:
        assert upkeep.reassess_due(until) == 1
        seen.append(until)
    assert seen == sorted(set(seen))
    assert {TURNS[name].at for name in ("expiry of a document", "end of a deferral", "triage limit")} <= set(seen)
