"""Many at once, with real connections: one wins, the others are told why, and what is stored is what a recount gives."""

from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.db import IntegrityError, close_old_connections, connection, transaction

from fleet import assessment, life
from fleet.errors import Conflict, Invalid
from fleet.models import Aircraft, Component, Installation
from fleet.services import positions
from tests.api.test_http_concurrency import at_once
from tests.factories import fitter_of, fresh, installed, keeper_of, make_component, make_kind, make_position, removed
from tests.fleet.hangar import Hangar, a_hangar, on

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = range(3)


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def outcome(act: Callable[[], Any]) -> Callable[[], str]:
    """What became of it, as a word."""

    def run() -> str:
        try:
            act()
        except (Conflict, Invalid) as refusal:
            return refusal.code
        return "done"

    return run


def stored_is_true(*fleet: Aircraft) -> None:
    """The stored verdict is the one that the facts give."""
    for aircraft in fleet:
        state = fresh(aircraft).airworthiness
        verdict = assessment.assess([aircraft.id], state.assessed_at)[aircraft.id]
        assert state.reasons == assessment.shown_values(verdict)["reasons"]


@pytest.mark.parametrize("number", ROUNDS)
def test_one_component_into_two_aircraft(hangar: Hangar, number: int) -> None:
    engine = hangar.engine()
    acts = [
        outcome(partial(installed, engine, aircraft, hangar.bay, at=on(2)))
        for aircraft in (hangar.one, hangar.other) * 2
    ]
    found = at_once(acts)
    assert found.count("done") == 1
    assert set(found) <= {"done", "installed_elsewhere", "position_taken"}  # its own aircraft again: taken, by itself
    assert Installation.objects.filter(component=engine, removed_at=None).count() == 1
    stored_is_true(hangar.one, hangar.other)


@pytest.mark.parametrize("number", ROUNDS)
def test_two_components_into_one_position(hangar: Hangar, number: int) -> None:
    acts = [outcome(partial(installed, hangar.engine(), hangar.one, hangar.bay, at=on(2))) for _ in range(4)]
    assert sorted(at_once(acts)) == ["done", *["position_taken"] * 3]
    stored_is_true(hangar.one)


@pytest.mark.parametrize("number", ROUNDS)
def test_two_frames_into_each_other(hangar: Hangar, number: int) -> None:
    kind = make_kind(hangar.one.club, designation="Frame")
    place, one, other = make_position(kind, kind), make_component(kind), make_component(kind)
    acts = [
        outcome(partial(installed, one, other, place, at=on(2))),
        outcome(partial(installed, other, one, place, at=on(2))),
    ]
    assert sorted(at_once(acts)) == ["circle", "done"]


@pytest.mark.parametrize("number", ROUNDS)
def test_a_part_goes_in_while_its_whole_does(hangar: Hangar, number: int) -> None:
    """Whichever comes first: the aircraft is judged with both."""
    positions.change_position(hangar.drive, by=keeper_of(hangar.one.club), at=on(1), changes={"required": True})
    engine, magneto = hangar.engine(), hangar.magneto()
    acts = [
        outcome(partial(installed, engine, hangar.one, hangar.bay, at=on(2))),
        outcome(partial(installed, magneto, engine, hangar.drive, at=on(2))),
    ]
    assert at_once(acts) == ["done", "done"]
    assert life.missing_positions([hangar.one.id]) == {hangar.one.id: []}
    stored_is_true(hangar.one)


@pytest.mark.parametrize("number", ROUNDS)
def test_removed_once(hangar: Hangar, number: int) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    acts = [outcome(partial(removed, engine, at=on(3))) for _ in range(4)]
    assert sorted(at_once(acts)) == ["done", *["not_installed"] * 3]


def test_the_database_holds_where_no_service_looks(hangar: Hangar) -> None:
    """Two writers past the services: the exclusion constraint lets the second wait, and refuses it."""
    engine = hangar.engine()

    def written(aircraft: Aircraft, component: Component) -> Callable[[], str]:
        def run() -> str:
            close_old_connections()
            try:
                with transaction.atomic():
                    Installation.objects.create(
                        component=component,
                        position=hangar.bay,
                        aircraft=aircraft,
                        installed_at=on(2),
                        installed_by=fitter_of(hangar.one.club),
                        meter_in={},
                    )
                    with connection.cursor() as cursor:
                        cursor.execute("SELECT pg_sleep(0.1)")
            except IntegrityError as error:
                return str(error).split('"')[1]
            return "done"

        return run

    moved = at_once([written(hangar.one, engine), written(hangar.other, engine)])
    assert sorted(moved) == ["component_in_one_place", "done"]
    free = hangar.other if Installation.objects.get().aircraft_id == hangar.one.id else hangar.one
    filled = at_once([written(free, hangar.engine()), written(free, hangar.engine())])
    assert sorted(filled) == ["aircraft_position_holds_one", "done"]
