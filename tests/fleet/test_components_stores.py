"""Taking components in, correcting what was said of them, their condition and overhaul."""

from datetime import UTC, date, datetime
from typing import Any

import orjson
import pytest

from fleet import life
from fleet.errors import Conflict, Forbidden, Invalid
from fleet.models import Component, Event, Membership, Overhaul, Role
from fleet.services import components, overhauls
from tests.factories import (
    NEW,
    InspectorFactory,
    MemberFactory,
    authorise,
    fitter_of,
    fresh,
    installed,
    make_component,
    member_of,
    removed,
)
from tests.fleet.flying import flown
from tests.fleet.hangar import Hangar, a_hangar, on
from tests.fleet.test_components_installing import pointer, refused

pytestmark = pytest.mark.django_db
LATER, LAST = on(5), on(20)


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def told(kind: str) -> dict[str, Any]:
    data: dict[str, Any] = orjson.loads(Event.objects.get(kind=kind).canonical)["data"]
    return data


def declared(component: Component, condition: str, *, by: Membership, at: datetime = LATER) -> Component:
    return components.set_condition(component_id=component.id, by=by, at=at, condition=condition, reason="Looked at")


def corrected(component: Component, *, by: Membership, at: datetime = LATER, **changes: Any) -> Component:
    return components.correct(component_id=component.id, by=by, at=at, changes=changes)[0]


def overhauled(component: Component, on_day: date, *, by: Membership, at: datetime = LAST, **fields: Any) -> Overhaul:
    said: dict[str, Any] = {"done_on": on_day, "release_document": "F1-9"} | fields
    return overhauls.record(component_id=component.id, by=by, at=at, **said)


@pytest.fixture
def officer(hangar: Hangar) -> Membership:
    member: Membership = fitter_of(hangar.one.club)
    return member


@pytest.fixture
def inspector(hangar: Hangar) -> Membership:
    return member_of(hangar.one.club, Role.INSPECTOR)


def test_a_component_is_taken_in_with_what_it_had_run(hangar: Hangar) -> None:
    brought = {"airframe_minutes": 90, "launches": 0}
    made = hangar.engine(serial_number="E-1", brought_forward=brought, manufactured_on=date(2024, 5, 1))
    kept = Component.objects.get(id=made.id)
    assert kept.condition == "serviceable"
    assert kept.known_amounts() == brought
    assert told("component_add")["airframe_minutes"] == 90
    assert told("component_add")["cycles"] is None


def test_amounts_contradict_an_unknown_history(hangar: Hangar) -> None:
    refusal = refused(Invalid, hangar.engine, history_known=False, brought_forward={"launches": 1})
    assert pointer(refusal) == ("/history_known", "contradiction")


def test_nothing_was_made_tomorrow(hangar: Hangar) -> None:
    late = datetime(2025, 3, 1, 23, 30, tzinfo=UTC)  # 2 March in the club's zone
    make_component(hangar.engine_kind, at=late, manufactured_on=date(2025, 3, 2))
    refusal = refused(Invalid, make_component, hangar.engine_kind, at=late, manufactured_on=date(2025, 3, 3))
    assert pointer(refusal) == ("/manufactured_on", "in_future")


def test_a_correction_keeps_what_was_said_before_and_the_aircraft_is_judged(
    hangar: Hangar, officer: Membership
) -> None:
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 6_000})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(3), 10)
    corrected(engine, by=officer, airframe_minutes=600, release_document="F1-8")
    assert life.totals_of([Component.objects.get(id=engine.id)])[engine.id]["airframe_minutes"] == 610
    assert told("component_change")["airframe_minutes"] == {"before": 6_000, "after": 600}
    assert Event.objects.get(kind="component_change").aircraft_id == hangar.one.id
    assert fresh(hangar.one).airworthiness.assessed_at == on(5)


def test_a_correction_of_nothing_records_nothing(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine()
    corrected(engine, by=officer, airframe_minutes=0)
    assert not Event.objects.filter(kind="component_change").exists()


def test_a_history_that_turns_out_unknown_makes_unserviceable(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    assert refused(Conflict, corrected, engine, by=officer, history_known=False).code == "installed"
    removed(engine, at=on(3))
    lost = corrected(engine, by=officer, history_known=False)
    assert (lost.condition, lost.known_amounts()) == ("unserviceable", {})
    assert life.totals_of([lost])[engine.id] == {}


def test_a_history_that_is_found_waits_for_an_inspector(
    hangar: Hangar, officer: Membership, inspector: Membership
) -> None:
    engine = hangar.engine(history_known=False, brought_forward={})
    assert refused(Conflict, declared, engine, "serviceable", by=inspector).code == "history_unknown"
    found = corrected(engine, by=officer, history_known=True, airframe_minutes=77)
    assert found.condition == "unserviceable"
    assert refused(Conflict, installed, found, hangar.one, hangar.bay, at=on(6)).code == "unserviceable"
    assert declared(engine, "serviceable", by=inspector).condition == "serviceable"


def test_the_condition_is_declared_by_an_inspector(hangar: Hangar, officer: Membership, inspector: Membership) -> None:
    engine = hangar.engine()
    refused(Forbidden, declared, engine, "unserviceable", by=officer)
    kept = declared(engine, "unserviceable", by=inspector)
    assert (kept.condition, kept.condition_reason) == ("unserviceable", "Looked at")
    assert told("component_condition")["before"] == "serviceable"


def test_only_an_authorisation_in_date_makes_serviceable(hangar: Hangar) -> None:
    """The officer's table of people: nobody releases without an authorisation."""
    engine = hangar.engine()
    lapsed = InspectorFactory.create(club=hangar.one.club, authorised=False)
    authorise(lapsed, valid_until=date(2025, 3, 4))
    declared(engine, "unserviceable", by=lapsed)
    assert refused(Forbidden, declared, engine, "serviceable", by=lapsed, at=on(5)).code == "authorisation"
    only_checks = InspectorFactory.create(club=hangar.one.club, authorised=False)
    authorise(only_checks, privileges=["independent_inspection"])
    refused(Forbidden, declared, engine, "serviceable", by=only_checks)
    assert declared(engine, "serviceable", by=lapsed, at=on(4)).condition == "serviceable"


def test_retired_is_for_ever(hangar: Hangar, inspector: Membership) -> None:
    engine = hangar.engine()
    declared(engine, "retired", by=inspector)
    for condition in Component.Condition.values:
        assert refused(Conflict, declared, engine, condition, by=inspector).code == "retired"
    assert refused(Conflict, installed, engine, hangar.one, hangar.bay, at=on(6)).code == "unserviceable"


def test_what_is_installed_is_not_declared_nor_overhauled(
    hangar: Hangar, officer: Membership, inspector: Membership
) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    installed(magneto, engine, hangar.drive, at=on(2))
    installed(engine, hangar.one, hangar.bay, at=on(2))
    for one in (engine, magneto):
        assert refused(Conflict, declared, one, "unserviceable", by=inspector).code == "installed"
        assert refused(Conflict, overhauled, one, date(2025, 3, 5), by=officer).code == "installed"


def test_an_overhaul_is_recorded_with_the_totals(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 100})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(3), 10)
    removed(engine, at=on(4))
    done = overhauled(engine, date(2025, 3, 4), by=officer)
    assert done.totals["airframe_minutes"] == told("component_overhaul")["totals"]["airframe_minutes"] == 110
    assert done.counts_from == on(4)  # its removal on that day, not the beginning of the day
    assert overhauled(engine, date(2025, 3, 6), by=officer).counts_from == on(5, 23)


@pytest.mark.parametrize(
    ("day", "field"), [(date(2025, 3, 3), "out_of_order"), (date(2025, 3, 21), "in_future"), (date(2025, 3, 4), None)]
)
def test_an_overhaul_follows_the_removal(hangar: Hangar, officer: Membership, day: date, field: str | None) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(engine, at=on(4))
    if field:
        assert pointer(refused(Invalid, overhauled, engine, day, by=officer)) == ("/done_on", field)
    else:
        overhauled(engine, day, by=officer)


def test_overhauls_follow_each_other(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine()
    overhauled(engine, date(2025, 3, 9), by=officer)
    assert pointer(refused(Invalid, overhauled, engine, date(2025, 3, 8), by=officer)) == ("/done_on", "out_of_order")


def test_what_was_run_since_an_overhaul_elsewhere_is_less_than_since_new(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine(brought_forward={"airframe_minutes": 500})
    refusal = refused(
        Invalid, overhauled, engine, date(2020, 1, 1), by=officer, brought_forward={"airframe_minutes": 501}
    )
    assert pointer(refusal) == ("/brought_forward/airframe_minutes", "beyond")
    overhauled(engine, date(2020, 1, 1), by=officer, brought_forward={"airframe_minutes": 500, "launches": 3})
    assert life.lives_of([engine])[engine.id].since_overhaul == {"airframe_minutes": 500, "launches": 3}


def test_what_was_run_here_is_counted_and_not_said(hangar: Hangar, officer: Membership) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(engine, at=on(3))
    refusal = refused(Invalid, overhauled, engine, date(2025, 3, 4), by=officer, brought_forward=NEW)
    assert pointer(refusal) == ("/brought_forward", "counted")


@pytest.mark.parametrize("role", [Role.PILOT, Role.AUDITOR, Role.INSPECTOR])
def test_keepers_take_in(hangar: Hangar, role: Role) -> None:
    by = MemberFactory.create(club=hangar.one.club, roles=[role])
    said = {"serial_number": "x", "history_known": True, "brought_forward": NEW}
    refused(Forbidden, components.add, kind=hangar.engine_kind, by=by, at=on(2), **said)


@pytest.mark.parametrize("role", [Role.PILOT, Role.AUDITOR, Role.ADMINISTRATOR])
def test_fitters_correct_and_overhaul(hangar: Hangar, role: Role) -> None:
    by, engine = MemberFactory.create(club=hangar.one.club, roles=[role]), hangar.engine()
    refused(Forbidden, corrected, engine, by=by, launches=1)
    refused(Forbidden, overhauled, engine, date(2025, 3, 1), by=by)
    refused(Forbidden, declared, engine, "unserviceable", by=by)
