"""Over HTTP: where a component was, and what was in an aircraft."""

from datetime import date
from typing import Any

import pytest

from fleet.services import positions
from tests.api.clients import client_of, problem
from tests.factories import fitter_of, installed, keeper_of, make_aircraft, member_of, removed
from tests.fleet.flying import flown, taken_back
from tests.fleet.hangar import Hangar, a_hangar, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


@pytest.fixture
def pilot(hangar: Hangar) -> Any:
    return client_of(member_of(hangar.one.club, "pilot"))


def history(program: Any, component: Any) -> dict[str, Any]:
    answer = program.get(f"/api/v1/components/{component.id}/history")
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def inside(program: Any, aircraft: Any, at: str | None = None) -> dict[str, Any]:
    answer = program.get(f"/api/v1/aircraft/{aircraft.id}/components", {"at": at} if at else {})
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def names(nodes: list[dict[str, Any]]) -> dict[str, Any]:
    """Serial numbers, nested."""
    return {node["serial_number"]: names(node["components"]) for node in nodes}


@pytest.fixture
def travelled(hangar: Hangar) -> Any:
    """A magneto in an engine that went from one aircraft to the other, and stayed behind when the engine came out."""
    engine, magneto = hangar.engine(serial_number="E-1"), hangar.magneto(serial_number="M-1")
    installed(magneto, engine, hangar.drive, at=on(1))
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 100)
    removed(engine, at=on(4))
    installed(engine, hangar.other, hangar.bay, at=on(5))
    flown(hangar.other, on(5, 12), 10)
    removed(magneto, at=on(6), reason="Weak spark")
    return engine, magneto


def test_where_a_component_was_with_readings(hangar: Hangar, pilot: Any, travelled: Any) -> None:
    told = history(pilot, travelled[1])
    (placed,) = told["installations"]
    assert (placed["parent_serial_number"], placed["removal_reason"]) == ("E-1", "Weak spark")
    spans = [(one["registration"], one["from"], one["to"], one["flown"]["airframe_minutes"]) for one in placed["spans"]]
    assert spans == [
        (hangar.one.registration, "2025-03-02T08:00:00Z", "2025-03-04T08:00:00Z", 100),
        (hangar.other.registration, "2025-03-05T08:00:00Z", "2025-03-06T08:00:00Z", 10),
    ]
    meters = [(one["meter_in"]["airframe_minutes"], one["meter_out"]["airframe_minutes"]) for one in placed["spans"]]
    assert meters == [(60_000, 60_100), (60_000, 60_010)]
    assert told["since_new"]["airframe_minutes"] == 110
    assert placed["meter_out"]["airframe_minutes"] == 110  # of the engine, as it was recorded


def test_the_history_counts_what_is_recorded_now(hangar: Hangar, pilot: Any) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flight = flown(hangar.one, on(3), 60)
    removed(engine, at=on(4))
    taken_back(flight, recorded_at=on(5))
    (placed,) = history(pilot, engine)["installations"]
    assert placed["meter_out"]["airframe_minutes"] == 60_060  # as it was recorded
    assert placed["spans"][0]["meter_out"]["airframe_minutes"] == 60_000


def test_a_history_with_overhauls(hangar: Hangar, pilot: Any) -> None:
    engine = hangar.engine(brought_forward={"launches": 70})
    officer = client_of(fitter_of(hangar.one.club))
    for day, brought in (("2020-01-01", {"launches": 30}), ("2025-02-02", None)):
        body = {"done_on": day, "release_document": f"Form 1 of {day}"}
        made = officer.post(
            f"/api/v1/components/{engine.id}/overhaul", body | ({"brought_forward": brought} if brought else {})
        )
        assert made.status_code == 201, made.content
    told = history(pilot, engine)
    assert [one["done_on"] for one in told["overhauls"]] == ["2020-01-01", "2025-02-02"]
    assert [one["brought_forward"]["launches"] for one in told["overhauls"]] == [30, 0]
    assert (told["overhauled_on"], told["since_overhaul"]["launches"]) == ("2025-02-02", 0)


def test_what_was_in_an_aircraft_at_an_instant(hangar: Hangar, pilot: Any, travelled: Any) -> None:
    nested: dict[str, Any] = {"E-1": {"M-1": {}}}
    for aircraft, at, expected in (
        (hangar.one, "2025-03-02T07:59:59Z", {}),
        (hangar.one, "2025-03-02T08:00:00Z", nested),
        (hangar.one, "2025-03-04T08:00:00Z", {}),
        (hangar.other, "2025-03-05T10:00:00+01:00", nested),
        (hangar.other, "2025-03-06T08:00:00Z", {"E-1": {}}),
        (hangar.other, None, {"E-1": {}}),
    ):
        assert names(inside(pilot, aircraft, at)["components"]) == expected, (aircraft, at)


def test_it_tells_what_each_had_run_by_then(hangar: Hangar, pilot: Any, travelled: Any) -> None:
    (engine,) = inside(pilot, hangar.other, "2025-03-05T09:00:00Z")["components"]
    (magneto,) = engine["components"]
    assert engine["since_new"]["airframe_minutes"] == magneto["since_new"]["airframe_minutes"] == 100
    assert (engine["position"]["code"], magneto["position"]["code"]) == ("bay", "drive")
    (engine,) = inside(pilot, hangar.other)["components"]
    assert engine["since_new"]["airframe_minutes"] == 110
    assert engine["since_overhaul"] is None


def test_it_names_required_positions_that_are_empty(hangar: Hangar, pilot: Any, travelled: Any) -> None:
    for position in (hangar.bay, hangar.drive):
        keeper = keeper_of(hangar.one.club)
        positions.change_position(position, by=keeper, at=on(7), changes={"required": True})
    assert [one["code"] for one in inside(pilot, hangar.one)["missing"]] == ["bay"]
    told = inside(pilot, hangar.other)
    assert told["missing"] == []
    assert [one["code"] for one in told["components"][0]["missing"]] == ["drive"]


def test_both_histories_agree(hangar: Hangar, pilot: Any, travelled: Any) -> None:
    """Each span of a component's history is seen from the aircraft, first instant included, last excluded."""
    for component in travelled:
        for placed in history(pilot, component)["installations"]:
            for span in placed["spans"]:
                aircraft = hangar.one if span["registration"] == hangar.one.registration else hangar.other
                assert component.serial_number in str(names(inside(pilot, aircraft, span["from"])["components"]))
                if span["to"]:
                    assert component.serial_number not in str(names(inside(pilot, aircraft, span["to"])["components"]))


def test_unknown_usage_is_told_with_its_cure(hangar: Hangar, pilot: Any) -> None:
    unopened = make_aircraft(hangar.one.club, aircraft_type=hangar.one.aircraft_type)
    engine = hangar.engine()
    installed(engine, unopened, hangar.bay, at=on(2))
    (node,) = inside(pilot, unopened)["components"]
    assert node["since_new"]["airframe_minutes"] is None
    assert node["unknown_because"] == (
        f"The usage of {unopened.registration} is not recorded from 2025-03-02 08:00 UTC on, when it went in."
        " Record the opening balance of that day or before, and what was flown since."
    )
    (placed,) = history(pilot, engine)["installations"]
    assert placed["spans"][0]["meter_in"]["airframe_minutes"] is None


def test_the_future_is_not_told(hangar: Hangar, pilot: Any) -> None:
    address = f"/api/v1/aircraft/{hangar.one.id}/components"
    problem(pilot.get(f"{address}?at=2999-01-01T00:00:00Z"), 422, "invalid")
    problem(pilot.get(f"{address}?on={date(2025, 3, 1)}"), 422, "invalid")


def test_a_tree_takes_as_many_queries_however_large(hangar: Hangar, pilot: Any, django_assert_num_queries: Any) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    inside(pilot, hangar.one)  # notes the use of the token
    for part in (None, magneto):
        if part:
            installed(part, engine, hangar.drive, at=on(3))
        with django_assert_num_queries(8):  # token, aircraft; inside and rows; spans, overhauls, sums; positions
            inside(pilot, hangar.one)
