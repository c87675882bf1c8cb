"""Items of the catalogue: what cannot be right, stricter at any time, laxer only while no defect hangs on it."""

from decimal import Decimal
from typing import Any

import pytest

from fleet.errors import Conflict, Invalid
from fleet.models import Aircraft, AirworthinessState, Event, Item, Membership
from fleet.services import register
from tests.factories import (
    CRITICAL,
    FOUNDED,
    MEASURED,
    NOW,
    PLAIN,
    TWO_PERSON,
    ItemFactory,
    fresh,
    make_aircraft,
    make_type,
    released,
    reported,
)
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

ODD: dict[str, Any] = {"code": "odd", "title": "Odd", "zone": "tail", "critical": False}
IMPOSSIBLE: list[tuple[dict[str, Any], str, str]] = [
    ({"critical": True, "deferrable": True}, "/deferrable", "critical"),
    ({"quantity": "pressure", "unit": ""}, "/unit", "pair"),
    ({"quantity": "", "unit": "bar"}, "/unit", "pair"),
    ({"quantity": "", "unit": "", "minimum": Decimal(1)}, "/quantity", "required"),
    ({"quantity": "", "unit": "", "maximum": Decimal(1)}, "/quantity", "required"),
    (
        {"quantity": "pressure", "unit": "bar", "minimum": Decimal(3), "maximum": Decimal(2)},
        "/maximum",
        "out_of_order",
    ),
    ({"quantity": "", "unit": "", "ballast": True}, "/quantity", "required"),
]


def change(aircraft: Aircraft, code: str, by: Membership, **changes: Any) -> Item:
    item = aircraft.aircraft_type.items.get(code=code)
    return register.change_item(item, by=by, at=NOW, changes=changes)


@pytest.mark.parametrize(("words", "pointer", "code"), IMPOSSIBLE)
def test_an_item_that_cannot_be_right_is_not_added(
    aircraft: Aircraft, officer: Membership, words: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        register.add_item(aircraft_type=aircraft.aircraft_type, by=officer, at=NOW, **ODD | words)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


@pytest.mark.parametrize(("words", "pointer", "code"), IMPOSSIBLE)
def test_nor_changed_into_one(
    aircraft: Aircraft, officer: Membership, words: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        change(aircraft, PLAIN, officer, **words)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


STRICTER: list[tuple[str, dict[str, Any]]] = [
    (PLAIN, {"critical": True, "deferrable": False}),
    (PLAIN, {"deferrable": False}),
    (PLAIN, {"two_person": True}),
    (MEASURED, {"ballast": True}),
    (MEASURED, {"minimum": Decimal("3.2")}),
    (PLAIN, {"title": "Tape", "caution": "Mind the gap.", "zone": "tail"}),
]
LAXER: list[tuple[str, dict[str, Any]]] = [
    (CRITICAL, {"critical": False}),
    (TWO_PERSON, {"two_person": False}),
    (TWO_PERSON, {"critical": False, "deferrable": True}),
    ("tank", {"ballast": False}),
    ("not-deferrable", {"deferrable": True}),
    (CRITICAL, {"critical": False, "title": "Pin"}),
]


@pytest.fixture
def catalogue(aircraft: Aircraft) -> None:
    ItemFactory.create(aircraft_type=aircraft.aircraft_type, code="tank", ballast=True)
    ItemFactory.create(aircraft_type=aircraft.aircraft_type, code="not-deferrable", deferrable=False)


@pytest.mark.parametrize(("code", "changes"), STRICTER)
def test_stricter_is_always_possible(
    aircraft: Aircraft, officer: Membership, catalogue: None, code: str, changes: dict[str, Any]
) -> None:
    reported(aircraft)
    changed = change(aircraft, code, officer, **changes)
    assert {name: getattr(changed, name) for name in changes} == changes


@pytest.mark.parametrize(("code", "changes"), LAXER)
def test_laxer_waits_until_no_aircraft_of_the_type_has_an_open_defect(
    aircraft: Aircraft, officer: Membership, catalogue: None, code: str, changes: dict[str, Any]
) -> None:
    sister = make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    reported(sister)  # on another item, of another aircraft: it may be moved on to this one
    with unchanged(), pytest.raises(Conflict) as refusal:
        change(aircraft, code, officer, **changes)
    assert refusal.value.code == "open_defects"


@pytest.mark.parametrize(("code", "changes"), LAXER)
def test_laxer_is_possible_without_open_defects(
    aircraft: Aircraft, officer: Membership, catalogue: None, code: str, changes: dict[str, Any]
) -> None:
    released(aircraft, at=FOUNDED)
    reported(make_aircraft(aircraft.club))  # of another type
    changed = change(aircraft, code, officer, **changes)
    assert {name: getattr(changed, name) for name in changes} == changes


def test_laxer_is_refused_while_an_aircraft_cannot_be_judged(
    aircraft: Aircraft, officer: Membership, catalogue: None
) -> None:
    reasons = [{"rule": "rule_error", "effect": "grounds"}]  # how many defects are open is not known then
    AirworthinessState.objects.update(status="grounded", reasons=reasons, open_defects=0)
    with unchanged(), pytest.raises(Conflict):
        change(aircraft, CRITICAL, officer, critical=False)


def test_every_aircraft_of_the_type_is_judged_anew(aircraft: Aircraft, officer: Membership) -> None:
    reported(aircraft)
    assert fresh(aircraft).airworthiness.status == "limited"
    change(aircraft, PLAIN, officer, critical=True, deferrable=False)
    stored = fresh(aircraft).airworthiness
    assert [reason["rule"] for reason in stored.reasons] == ["critical_item_defect"]
    told = Event.objects.filter(kind="item_change")
    assert {event.aircraft_id for event in told} == {None, aircraft.id}  # in the club's chain and in the aircraft's


def test_what_does_not_differ_is_no_change(aircraft: Aircraft, officer: Membership) -> None:
    with unchanged():
        change(aircraft, PLAIN, officer, critical=False, title="Sealing tape")


def test_one_code_a_type(aircraft: Aircraft, officer: Membership) -> None:
    other = make_type(aircraft.club)
    assert other.items.filter(code=PLAIN).exists()
    with unchanged(), pytest.raises(Exception, match="one_item_code_a_type"):
        ItemFactory.create(aircraft_type=other, code=PLAIN)
