"""What the database refuses whoever asks: the second wall behind the services."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import Model

from fleet.models import Component, Installation, Overhaul
from tests.factories import fitter_of, installed, removed
from tests.fleet.hangar import Hangar, a_hangar, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def row(hangar: Hangar, component: Component, **fields: Any) -> Installation:
    """Written past the service."""
    by = fitter_of(hangar.one.club)
    said = {"position": hangar.bay, "installed_at": on(2), "installed_by": by, "meter_in": {}}
    if "parent" not in fields:
        said["aircraft"] = hangar.one
    return Installation.objects.create(component=component, **(said | fields))


def ended(hangar: Hangar, **fields: Any) -> dict[str, Any]:
    by = fitter_of(hangar.one.club)
    return {"removed_at": on(4), "removed_by": by, "meter_out": {}, "removal_reason": "Exchanged"} | fields


def broken(constraint: str, act: Callable[[], Any]) -> None:
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        act()


def test_one_component_in_one_place(hangar: Hangar) -> None:
    engine = hangar.engine()
    row(hangar, engine, **ended(hangar))
    elsewhere = {"aircraft": hangar.other}
    for begins in (on(1), on(2), on(4) - timedelta(microseconds=1)):
        broken("component_in_one_place", lambda at=begins: row(hangar, engine, **elsewhere, installed_at=at))  # type: ignore[misc]
    row(hangar, engine, **elsewhere, installed_at=on(4))


def test_one_component_at_a_position_of_an_aircraft(hangar: Hangar) -> None:
    row(hangar, hangar.engine())
    broken("aircraft_position_holds_one", lambda: row(hangar, hangar.engine(), installed_at=on(9)))
    row(hangar, hangar.engine(), aircraft=hangar.other)


def test_one_component_at_a_position_of_a_component(hangar: Hangar) -> None:
    engine = hangar.engine()
    inside = {"parent": engine, "position": hangar.drive}
    row(hangar, hangar.magneto(), **inside)
    broken("component_position_holds_one", lambda: row(hangar, hangar.magneto(), **inside))
    row(hangar, hangar.magneto(), parent=hangar.engine(), position=hangar.drive)


def test_a_place_is_one_thing_and_not_itself(hangar: Hangar) -> None:
    engine = hangar.engine()
    broken("installation_in_aircraft_or_component", lambda: row(hangar, engine, aircraft=None))
    broken(
        "installation_in_aircraft_or_component",
        lambda: row(hangar, engine, parent=hangar.engine(), aircraft=hangar.one),
    )
    broken("installation_not_in_itself", lambda: row(hangar, engine, parent=engine))


@pytest.mark.parametrize(
    "half",
    [
        {"removed_at": None},
        {"removed_by": None},
        {"meter_out": None},
        {"removal_reason": ""},
        {"removal_reason": " "},
        {"removed_at": on(2)},
        {"removed_at": on(1)},
    ],
)
def test_a_removal_is_whole_and_after_its_installation(hangar: Hangar, half: dict[str, Any]) -> None:
    expected = r"removal_whole|range lower bound"
    with pytest.raises(DatabaseError, match=expected), transaction.atomic():
        row(hangar, hangar.engine(), **ended(hangar, **half))


def test_an_installation_is_only_ever_ended(hangar: Hangar) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    rows = Installation.objects.filter(component=engine)
    guarded(lambda: rows.update(installed_at=on(1)))
    guarded(lambda: rows.update(meter_in={"launches": 1}))
    guarded(lambda: rows.update(aircraft=hangar.other, **ended(hangar)))
    removed(engine, at=on(4))
    guarded(lambda: rows.update(removed_at=on(5)))
    guarded(lambda: rows.update(removed_at=None, removed_by=None, meter_out=None, removal_reason=""))
    guarded(lambda: rows.delete())


def guarded(act: Callable[[], Any]) -> None:
    with pytest.raises(DatabaseError, match="pgtrigger: Cannot"), transaction.atomic():
        act()


def test_a_component_keeps_its_identity_and_its_record(hangar: Hangar) -> None:
    engine = hangar.engine()
    rows = Component.objects.filter(id=engine.id)
    guarded(lambda: rows.update(kind=hangar.magneto_kind))
    guarded(lambda: rows.update(recorded_at=on(9)))
    guarded(lambda: rows.delete())
    broken("component_unknown_is_unserviceable", lambda: rows.update(history_known=False))
    broken("component_condition_reason", lambda: rows.update(condition="retired"))
    broken("component_condition_known", lambda: rows.update(condition="fine", condition_reason="x"))
    broken("component_amounts_not_negative", lambda: rows.update(launches=-1))
    broken("one_serial_number_a_kind", lambda: hangar.engine(serial_number=engine.serial_number))


def test_an_overhaul_stays(hangar: Hangar) -> None:
    said = {"done_on": on(2).date(), "counts_from": on(2), "totals": {}, "recorded_at": on(2)}
    said |= {"component": hangar.engine(), "recorded_by": fitter_of(hangar.one.club)}
    Overhaul.objects.create(**said, release_document="F1-1")
    guarded(lambda: Overhaul.objects.update(done_on=on(3).date()))
    guarded(lambda: Overhaul.objects.all().delete())
    broken("overhaul_released", lambda: Overhaul.objects.create(**said, release_document=" "))


@pytest.mark.parametrize("model", [Component, Installation, Overhaul])
def test_no_table_is_emptied(hangar: Hangar, model: type[Model]) -> None:
    def emptied() -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"TRUNCATE {model._meta.db_table} CASCADE")

    guarded(emptied)
