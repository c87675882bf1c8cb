"""Positions: what may be empty, and what is missing."""

from typing import Any

import pytest

from fleet import life
from fleet.errors import Forbidden, Invalid
from fleet.models import Event, Position, Role
from fleet.services import positions
from tests.factories import (
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    fresh,
    installed,
    keeper_of,
    make_aircraft,
    make_kind,
    make_position,
    removed,
)
from tests.fleet.hangar import Hangar, a_hangar, on
from tests.fleet.test_components_installing import pointer, refused

pytestmark = pytest.mark.django_db
LATER = on(9)


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def missing(hangar: Hangar) -> tuple[list[str], list[str]]:
    """Codes in both aircraft."""
    found = life.missing_positions([hangar.one.id, hangar.other.id])
    one, other = ([position.code for position in found[aircraft.id]] for aircraft in (hangar.one, hangar.other))
    return one, other


def change(position: Position, *, by: Any = None, at: Any = LATER, kinds: Any = None, **changes: Any) -> Position:
    fresh_one = Position.objects.select_related("aircraft_type__club", "parent_kind__club").get(id=position.id)
    club = (fresh_one.aircraft_type or fresh_one.parent_kind).club  # type: ignore[union-attr]  # it has one of them
    return positions.change_position(fresh_one, by=by or keeper_of(club), at=at, changes=changes, kinds=kinds)


def test_required_positions_that_are_empty_are_missing(hangar: Hangar) -> None:
    assert missing(hangar) == ([], [])
    hook = make_kind(hangar.one.club, designation="Hook")
    make_position(hangar.one.aircraft_type, hook, required=True, code="nose-hook", at=on(2))
    change(hangar.bay, required=True, at=on(2))
    assert missing(hangar) == (["bay", "nose-hook"], ["bay", "nose-hook"])
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(3))
    assert missing(hangar) == (["nose-hook"], ["bay", "nose-hook"])
    removed(engine, at=on(4))
    assert missing(hangar)[0] == ["bay", "nose-hook"]


def test_required_positions_of_what_is_installed_count_too(hangar: Hangar) -> None:
    change(hangar.drive, required=True)
    lead = make_kind(hangar.one.club, designation="Lead")
    make_position(hangar.magneto_kind, lead, required=True, code="lead", at=on(9))
    engine, magneto = hangar.engine(), hangar.magneto()
    assert missing(hangar) == ([], [])  # no engine, and none required
    installed(engine, hangar.one, hangar.bay, at=on(10))
    assert missing(hangar) == (["drive"], [])
    installed(magneto, engine, hangar.drive, at=on(11))
    assert missing(hangar) == (["lead"], [])
    removed(engine, at=on(12))
    assert missing(hangar) == ([], [])


def test_a_second_engine_does_not_fill_the_position_of_the_first(hangar: Hangar) -> None:
    change(hangar.drive, required=True)
    second = make_position(hangar.one.aircraft_type, hangar.engine_kind, code="second-bay", at=on(9))
    whole, bare = hangar.engine(), hangar.engine()
    installed(hangar.magneto(), whole, hangar.drive, at=on(10))
    installed(whole, hangar.one, hangar.bay, at=on(10))
    installed(bare, hangar.one, second, at=on(10))
    assert missing(hangar)[0] == ["drive"]


def test_missing_positions_take_as_many_queries_for_many(hangar: Hangar, django_assert_num_queries: Any) -> None:
    change(hangar.bay, required=True)
    for asked in ([hangar.one.id], [hangar.one.id, hangar.other.id]):
        with django_assert_num_queries(2):
            assert set(life.missing_positions(asked)) == set(asked)
    assert life.missing_positions([]) == {}


def test_a_new_required_position_judges_every_aircraft_of_the_type(hangar: Hangar) -> None:
    elsewhere = make_aircraft(hangar.one.club)
    make_position(hangar.one.aircraft_type, hangar.engine_kind, required=True, code="second-bay", at=on(2))
    assert {fresh(one).airworthiness.assessed_at for one in (hangar.one, hangar.other)} == {on(2)}
    assert fresh(elsewhere).airworthiness.assessed_at != on(2)
    told = Event.objects.filter(kind="position_add", recorded_at=on(2))
    assert {event.aircraft_id for event in told} == {hangar.one.id, hangar.other.id, None}


def test_a_position_of_a_kind_judges_the_aircraft_that_hold_one(hangar: Hangar) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    make_position(hangar.engine_kind, hangar.magneto_kind, required=True, code="second-drive", at=on(3))
    assert fresh(hangar.one).airworthiness.assessed_at == on(3)
    assert fresh(hangar.other).airworthiness.assessed_at != on(3)


def test_only_technical_people_let_a_required_position_be_empty(hangar: Hangar) -> None:
    """An administrator may never bypass a rule."""
    club = hangar.one.club
    change(hangar.bay, required=True)
    administrator = MemberFactory.create(club=club, roles=[Role.ADMINISTRATOR])
    refused(Forbidden, change, hangar.bay, by=administrator, required=False)
    change(hangar.bay, by=administrator, title="Bay")
    both = InspectorFactory.create(club=club, roles=[Role.ADMINISTRATOR, Role.INSPECTOR])
    assert not change(hangar.bay, by=both, required=False).required


def test_what_fits_may_change_and_what_is_installed_stays(hangar: Hangar) -> None:
    newer = make_kind(hangar.one.club, designation="Engine", part_number="E-200")
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    change(hangar.bay, kinds=[newer])
    assert life.home_of(engine) == hangar.one
    removed(engine, at=on(10))
    refusal = refused(Invalid, installed, engine, hangar.one, hangar.bay, at=on(11))
    assert pointer(refusal) == ("/position", "does_not_fit")
    (told,) = Event.objects.filter(kind="position_change", aircraft=hangar.one)
    assert '"after":["E-200"]' in told.canonical


def test_a_position_is_of_one_thing(hangar: Hangar) -> None:
    said = {"by": keeper_of(hangar.one.club), "at": on(2), "code": "x", "title": "X", "required": False}
    both = {"aircraft_type": hangar.one.aircraft_type, "parent_kind": hangar.engine_kind}
    for places in ({}, both):
        refusal = refused(Invalid, positions.add_position, **said, kinds=[hangar.magneto_kind], **places)
        assert pointer(refusal) == ("/aircraft_type", "one_of")


@pytest.mark.parametrize("role", [Role.PILOT, Role.AUDITOR, Role.INSPECTOR])
def test_keepers_add_kinds_and_positions(hangar: Hangar, role: Role) -> None:
    by = MemberFactory.create(club=hangar.one.club, roles=[role])
    refused(Forbidden, positions.add_kind, by=by, at=on(2), designation="x", part_number="y")
    said = {"code": "x", "title": "X", "required": False, "aircraft_type": hangar.one.aircraft_type}
    refused(Forbidden, positions.add_position, by=by, at=on(2), kinds=[hangar.engine_kind], **said)
    refused(Forbidden, change, hangar.bay, by=by, title="Y")


def test_another_clubs_kinds_fit_nowhere(hangar: Hangar) -> None:
    foreign = make_kind(ClubFactory.create())
    with pytest.raises(Invalid) as caught:
        positions.kinds_of(hangar.one.club_id, [hangar.engine_kind.id, foreign.id])
    assert pointer(caught.value) == ("/kinds/1", "unknown_kind")


def test_an_empty_required_position_grounds_until_it_is_filled(hangar: Hangar) -> None:
    engine = hangar.engine()

    def shown() -> tuple[str, set[str]]:
        state = fresh(hangar.one).airworthiness
        return state.status, {reason["rule"] for reason in state.reasons}

    assert shown() == ("serviceable", set())
    change(hangar.bay, required=True)
    assert shown() == ("grounded", {"component_missing"})
    installed(engine, hangar.one, hangar.bay, at=on(10))
    assert shown() == ("serviceable", set())
    removed(engine, at=on(11))
    assert shown() == ("grounded", {"component_missing"})
