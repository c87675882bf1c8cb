"""Installing and removing: one place at a time, nothing unserviceable, nothing in a circle, nothing out of order."""

from datetime import date, timedelta
from typing import Any

import pytest

from fleet import events, life
from fleet.errors import Conflict, DomainError, Forbidden, Invalid, NotFound
from fleet.models import Component, Event, Installation, Role
from fleet.sentences import OF_REGISTER, sentence
from fleet.services import components, installing, overhauls
from tests.factories import (
    ClubFactory,
    MemberFactory,
    fitter_of,
    fresh,
    installed,
    make_aircraft,
    make_component,
    make_kind,
    make_position,
    member_of,
    removed,
)
from tests.fleet.flying import flown, taken_back
from tests.fleet.hangar import Hangar, a_hangar, on
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def refused(error: type[DomainError], act: Any, /, *arguments: Any, **options: Any) -> DomainError:
    """The refusal; nothing was changed."""
    with unchanged(), pytest.raises(error) as caught:
        act(*arguments, **options)
    return caught.value


def pointer(refusal: DomainError) -> tuple[str, str]:
    (error,) = refusal.errors
    return error.pointer, error.code


def test_an_installation_says_where_and_when_and_by_whom(hangar: Hangar) -> None:
    engine = hangar.engine()
    flown(hangar.one, on(1), 30)
    made = installed(engine, hangar.one, hangar.bay, at=on(2), recorded_at=on(3))
    assert (made.aircraft, made.parent, made.position) == (hangar.one, None, hangar.bay)
    assert (made.installed_at, made.installed_by) == (on(2), fitter_of(hangar.one.club))
    assert made.meter_in == {
        "airframe_minutes": 60_030,
        "launches": 5_001,
        "landings": 1,
        "engine_minutes": 0,
        "engine_starts": 0,
        "cycles": 0,
    }
    assert life.home_of(engine) == hangar.one


def test_the_aircraft_concerned_is_judged_and_its_record_tells_it(hangar: Hangar) -> None:
    engine, magneto = hangar.engine(serial_number="E-7"), hangar.magneto(serial_number="M-9")
    installed(engine, hangar.one, hangar.bay, at=on(2))
    installed(magneto, engine, hangar.drive, at=on(3))
    removed(magneto, at=on(4), reason="Contacts worn")
    assert fresh(hangar.one).airworthiness.assessed_at == on(4)
    told = Event.objects.filter(aircraft=hangar.one, kind__startswith="component_").order_by("sequence")
    assert [(one.kind, one.subject_id) for one in told] == [
        ("component_install", engine.id),
        ("component_install", magneto.id),
        ("component_remove", magneto.id),
    ]
    assert events.verify(hangar.one.club).valid
    data = {"part_number": "M", "serial_number": "M-9", "out_of": "E-7", "title": "Magneto drive", "reason": "Worn"}
    spoken = sentence("component_remove", data | {"removed_at": "2025-03-04T08:00:00Z"}, OF_REGISTER)
    assert spoken == "M M-9 removed from E-7 at Magneto drive, 2025-03-04 08:00 UTC: Worn."


def test_on_the_bench_no_aircraft_is_concerned(hangar: Hangar) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    moved = installing.install(
        component_id=magneto.id,
        by=fitter_of(hangar.one.club),
        at=on(2),
        position_id=hangar.drive.id,
        installed_at=on(2),
        parent_id=engine.id,
    )
    assert moved.verdict is None
    assert moved.installation.meter_in["airframe_minutes"] == 0
    assert Event.objects.filter(kind="component_install", aircraft=None).count() == 1
    assert life.home_of(magneto) is None


def test_a_component_is_in_one_place_at_a_time(hangar: Hangar) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    assert refused(Conflict, installed, engine, hangar.other, hangar.bay, at=on(3)).code == "installed_elsewhere"
    removed(engine, at=on(5))
    assert refused(Conflict, installed, engine, hangar.other, hangar.bay, at=on(4)).code == "installed_elsewhere"
    installed(engine, hangar.other, hangar.bay, at=on(5))  # the very instant of its removal
    assert Installation.objects.filter(component=engine).count() == 2


def test_a_position_holds_one_component_at_a_time(hangar: Hangar) -> None:
    first, second = hangar.engine(), hangar.engine()
    installed(first, hangar.one, hangar.bay, at=on(2))
    assert refused(Conflict, installed, second, hangar.one, hangar.bay, at=on(3)).code == "position_taken"
    installed(second, hangar.other, hangar.bay, at=on(3))  # the same position of another aircraft
    removed(first, at=on(5))
    removed(second, at=on(5))
    assert refused(Conflict, installed, second, hangar.one, hangar.bay, at=on(4)).code in {
        "position_taken",
        "installed_elsewhere",
    }
    installed(second, hangar.one, hangar.bay, at=on(5))


def test_a_position_of_a_component_holds_one_at_a_time(hangar: Hangar) -> None:
    engine = hangar.engine()
    installed(hangar.magneto(), engine, hangar.drive, at=on(2))
    assert refused(Conflict, installed, hangar.magneto(), engine, hangar.drive, at=on(3)).code == "position_taken"


def test_only_what_fits_goes_in(hangar: Hangar) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    assert pointer(refused(Invalid, installed, magneto, hangar.one, hangar.bay, at=on(2))) == (
        "/position",
        "does_not_fit",
    )
    assert pointer(refused(Invalid, installed, magneto, hangar.one, hangar.drive, at=on(2))) == (
        "/position",
        "not_here",
    )
    assert pointer(refused(Invalid, installed, engine, hangar.engine(), hangar.bay, at=on(2))) == (
        "/position",
        "not_here",
    )
    other_type = make_aircraft(hangar.one.club)
    assert pointer(refused(Invalid, installed, engine, other_type, hangar.bay, at=on(2))) == ("/position", "not_here")


def test_a_place_is_an_aircraft_or_a_component(hangar: Hangar) -> None:
    engine, by = hangar.engine(), fitter_of(hangar.one.club)
    where = {"component_id": engine.id, "by": by, "at": on(2), "position_id": hangar.bay.id, "installed_at": on(2)}
    for place in ({}, {"aircraft_id": hangar.one.id, "parent_id": hangar.engine().id}):
        assert pointer(refused(Invalid, installing.install, **where, **place)) == ("/aircraft", "one_of")


@pytest.fixture
def frames(hangar: Hangar) -> Any:
    """Frames that fit into each other."""
    kind = make_kind(hangar.one.club, designation="Frame")
    return make_position(kind, kind), *(make_component(kind) for _ in range(3))


def test_nothing_is_installed_in_itself_or_in_a_circle(frames: Any) -> None:
    place, outer, middle, inner = frames
    assert pointer(refused(Invalid, installed, outer, outer, place, at=on(2))) == ("/parent", "in_itself")
    installed(middle, outer, place, at=on(2))
    installed(inner, middle, place, at=on(3))
    assert refused(Conflict, installed, outer, middle, place, at=on(4)).code == "circle"
    assert refused(Conflict, installed, outer, inner, place, at=on(4)).code == "circle"
    removed(middle, at=on(5))
    # installed into what it held when it went in there, as far back as that was
    assert refused(Conflict, installed, outer, inner, place, at=on(4, 12), recorded_at=on(6)).code == "circle"
    installed(outer, inner, place, at=on(5))


def test_an_unknown_history_is_unserviceable_and_not_installed(hangar: Hangar) -> None:
    """ML.A.504(a): information needed is missing (check value T72)."""
    engine = hangar.engine(history_known=False, brought_forward={})
    assert (engine.condition, engine.condition_reason) == (
        "unserviceable",
        "Information is missing: its history is not known (ML.A.504).",
    )
    refusal = refused(Conflict, installed, engine, hangar.one, hangar.bay, at=on(2))
    assert (refusal.code, getattr(refusal, "current", None)) == ("unserviceable", {"condition": "unserviceable"})


def test_what_came_out_unserviceable_stays_out_until_an_inspector_says_otherwise(hangar: Hangar) -> None:
    """Unserviceable parts are kept apart (ML.A.504)."""
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(engine, at=on(3), reason="Metal in the oil", unserviceable=True)
    assert refused(Conflict, installed, engine, hangar.other, hangar.bay, at=on(4)).code == "unserviceable"
    assert Component.objects.get(id=engine.id).condition_reason == "Metal in the oil"
    inspector = member_of(hangar.one.club, Role.INSPECTOR)
    declared: dict[str, Any] = {"component_id": engine.id, "by": inspector, "at": on(5)}
    components.set_condition(**declared, condition="serviceable", reason="Opened, no fault; Form 1 no. 3")
    installed(engine, hangar.other, hangar.bay, at=on(6))


def test_a_part_may_go_into_an_unserviceable_whole_but_not_into_a_retired_one(hangar: Hangar) -> None:
    engine, inspector = hangar.engine(), member_of(hangar.one.club, Role.INSPECTOR)
    declared: dict[str, Any] = {"component_id": engine.id, "by": inspector, "at": on(2), "reason": "Cracked"}
    components.set_condition(**declared, condition="unserviceable")
    magneto = hangar.magneto()
    installed(magneto, engine, hangar.drive, at=on(3))
    removed(magneto, at=on(4))
    components.set_condition(**declared, condition="retired")
    assert refused(Conflict, installed, magneto, engine, hangar.drive, at=on(5)).code == "retired"


def test_a_removal_follows_its_installation(hangar: Hangar) -> None:
    engine = hangar.engine()
    assert refused(Conflict, removed, engine, at=on(2)).code == "not_installed"
    installed(engine, hangar.one, hangar.bay, at=on(2))
    for early in (on(2), on(1)):
        refusal = refused(Invalid, removed, engine, at=early, recorded_at=on(3))
        assert pointer(refusal) == ("/removed_at", "out_of_order")
    removed(engine, at=on(2) + timedelta(microseconds=1), recorded_at=on(3))
    assert refused(Conflict, removed, engine, at=on(4)).code == "not_installed"


def test_nothing_happens_in_the_future(hangar: Hangar) -> None:
    engine = hangar.engine()
    late = {"at": on(2, 8, 6), "recorded_at": on(2)}  # five minutes of clock skew are taken
    assert pointer(refused(Invalid, installed, engine, hangar.one, hangar.bay, **late)) == (
        "/installed_at",
        "in_future",
    )
    installed(engine, hangar.one, hangar.bay, at=on(2, 8, 5), recorded_at=on(2))
    late = {"at": on(3, 8, 6), "recorded_at": on(3)}
    assert pointer(refused(Invalid, removed, engine, **late)) == ("/removed_at", "in_future")


def test_nothing_goes_in_or_out_in_flight(hangar: Hangar) -> None:
    engine = hangar.engine()
    flight = flown(hangar.one, on(2, 10), 60)
    refusal = refused(Invalid, installed, engine, hangar.one, hangar.bay, at=on(2, 10, 30))
    assert pointer(refusal) == ("/installed_at", "in_flight")
    installed(engine, hangar.one, hangar.bay, at=on(2, 10))  # just before it
    assert pointer(refused(Invalid, removed, engine, at=on(2, 10, 59))) == ("/removed_at", "in_flight")
    taken_back(flight, recorded_at=on(3))
    removed(engine, at=on(2, 10, 59), recorded_at=on(3))


def test_nothing_goes_in_before_its_last_overhaul(hangar: Hangar) -> None:
    engine, by = hangar.engine(), fitter_of(hangar.one.club)
    overhauls.record(component_id=engine.id, by=by, at=on(4), done_on=date(2025, 3, 4), release_document="F1-1")
    refusal = refused(Invalid, installed, engine, hangar.one, hangar.bay, at=on(3, 22, 59), recorded_at=on(5))
    assert pointer(refusal) == ("/installed_at", "out_of_order")
    installed(
        engine, hangar.one, hangar.bay, at=on(3, 23), recorded_at=on(5)
    )  # when that day begins in the club's zone


def test_what_is_inside_comes_along(hangar: Hangar) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    installed(magneto, engine, hangar.drive, at=on(1))
    installed(engine, hangar.one, hangar.bay, at=on(2))
    assert life.home_of(magneto) == hangar.one
    removed(engine, at=on(3))
    assert life.home_of(magneto) is None
    assert Installation.objects.get(component=magneto).removed_at is None


@pytest.mark.parametrize("role", [Role.PILOT, Role.AUDITOR, Role.ADMINISTRATOR])
def test_technical_officers_and_inspectors_install(hangar: Hangar, role: Role) -> None:
    other = MemberFactory.create(club=hangar.one.club, roles=[role])
    engine = hangar.engine()
    where = {"position_id": hangar.bay.id, "aircraft_id": hangar.one.id, "installed_at": on(2)}
    refused(Forbidden, installing.install, component_id=engine.id, by=other, at=on(2), **where)
    installed(engine, hangar.one, hangar.bay, at=on(2))
    refused(Forbidden, installing.remove, component_id=engine.id, by=other, at=on(3), removed_at=on(3), reason="x")


def test_another_clubs_things_are_not_there(hangar: Hangar) -> None:
    strangers = ClubFactory.create()
    stranger = fitter_of(strangers)
    own = make_component(make_kind(strangers))
    engine = hangar.engine()
    where = {"by": stranger, "at": on(2), "position_id": hangar.bay.id, "installed_at": on(2)}
    for foreign in (
        {"component_id": engine.id, "aircraft_id": hangar.one.id},
        {"component_id": own.id, "aircraft_id": hangar.one.id},
        {"component_id": own.id, "parent_id": engine.id},
    ):
        refused(NotFound, installing.install, **where, **foreign)
    home = make_aircraft(strangers)
    refusal = refused(Invalid, installing.install, **where, component_id=own.id, aircraft_id=home.id)
    assert pointer(refusal) == ("/position", "unknown_position")
    refused(NotFound, installing.remove, component_id=engine.id, by=stranger, at=on(2), removed_at=on(2), reason="x")
