"""Items of a catalogue over HTTP."""

from typing import Any
from uuid import uuid4

import pytest

from fleet.models import AircraftType, Event, Item, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import CRITICAL, MEASURED, PLAIN, AircraftTypeFactory, fresh, make_aircraft, make_type, reported

pytestmark = pytest.mark.django_db
# 4 bar: common practice, no source
TYRE: dict[str, Any] = {
    "code": "main-tyre",
    "title": "Main wheel tyre",
    "zone": "gear",
    "critical": False,
    "deferrable": True,
    "quantity": "pressure",
    "unit": "bar",
    "minimum": 3.8,
    "maximum": 4,
    "caution": "Hot after landing.",
    "system_code": "3246",
}
# common practice, no source: 8 kg of fixed tail ballast, to be out before solo flight
BALLAST: dict[str, Any] = {
    "code": "fixed-tail-ballast",
    "title": "Fixed tail ballast",
    "zone": "ballast",
    "critical": True,
    "two_person": True,
    "ballast": True,
    "quantity": "mass",
    "unit": "kg",
    "minimum": 0,
    "maximum": 8,
    "handling_note": "Take it out before solo flight.",
}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def kite(cast: Cast) -> AircraftType:
    return AircraftTypeFactory.create(club=cast.club)


def catalogue(of_type: AircraftType) -> str:
    return f"/api/v1/aircraft-types/{of_type.id}/items"


@pytest.mark.parametrize("item", [TYRE, BALLAST], ids=["measured", "ballast"])
def test_an_item_keeps_everything_that_was_sent(cast: Cast, kite: AircraftType, item: dict[str, Any]) -> None:
    made = created(cast.officer, catalogue(kite), item)
    assert made.items() >= item.items()
    assert made["side"] == "centre"


def test_a_plain_item_has_blanks(cast: Cast, kite: AircraftType) -> None:
    body = {"code": "tape", "title": "Sealing tape", "zone": "wing", "side": "both", "critical": False}
    made = created(cast.officer, catalogue(kite), body)
    left_out = {name: value for name, value in made.items() if name not in {"id", *body}}
    texts = dict.fromkeys(("quantity", "unit", "caution", "handling_note", "system_code"), "")
    flags = dict.fromkeys(("deferrable", "two_person", "ballast"), False)
    assert left_out == {**texts, **flags, "minimum": None, "maximum": None}


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"code": "Main Tyre"}, "/code", "invalid"),
        ({"code": "tyre\n"}, "/code", "invalid"),
        ({"zone": "attic"}, "/zone", "invalid_choice"),
        ({"side": "port"}, "/side", "invalid_choice"),
        ({"critical": "no"}, "/critical", "invalid"),
        ({"critical": None}, "/critical", "null"),
        ({"critical": True}, "/deferrable", "critical"),
        ({"unit": ""}, "/unit", "pair"),
        ({"unit": "bär"}, "/unit", "invalid"),
        ({"quantity": ""}, "/unit", "pair"),
        ({"quantity": "", "unit": ""}, "/quantity", "required"),
        ({"minimum": 4.1}, "/maximum", "out_of_order"),
        ({"minimum": "3.8"}, "/minimum", "invalid"),
        ({"minimum": 3.80001}, "/minimum", "max_decimal_places"),
        ({"maximum": 1e12}, "/maximum", "max_digits"),
        ({"ballast": True, "quantity": "", "unit": "", "minimum": None, "maximum": None}, "/quantity", "required"),
        ({"system_code": "32"}, "/system_code", "invalid"),
        ({"system_code": "٣٢٤٦"}, "/system_code", "invalid"),
        ({"system_code": 3246}, "/system_code", "invalid"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, kite: AircraftType, wrong: dict[str, Any], pointer: str, code: str) -> None:
    body = problem(cast.officer.post(catalogue(kite), {**TYRE, **wrong}), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not Item.objects.exists()


def test_criticality_is_never_guessed(cast: Cast, kite: AircraftType) -> None:
    body = {name: value for name, value in TYRE.items() if name != "critical"}
    answer = problem(cast.officer.post(catalogue(kite), body), 422, "invalid")
    assert pointers(answer) == {"/critical": "required"}


def test_a_code_is_there_once_a_type(cast: Cast, kite: AircraftType) -> None:
    created(cast.officer, catalogue(kite), TYRE)
    problem(cast.officer.post(catalogue(kite), TYRE), 409, "conflict")
    created(cast.officer, catalogue(AircraftTypeFactory.create(club=cast.club)), TYRE)


def test_only_keepers_write(cast: Cast, kite: AircraftType) -> None:
    keepers = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}
    item = created(cast.officer, catalogue(kite), TYRE)
    only_for(cast, keepers, "post", catalogue(kite), BALLAST)
    only_for(cast, keepers, "patch", f"{catalogue(kite)}/{item['id']}", {"critical": True})


def test_changes_need_the_current_version(cast: Cast, kite: AircraftType) -> None:
    item = created(cast.officer, catalogue(kite), TYRE)
    guarded(cast.officer, f"{catalogue(kite)}/{item['id']}", {"maximum": 4.2, "caution": ""})


def test_a_contradictory_change_is_refused_and_named(cast: Cast, kite: AircraftType) -> None:
    item = created(cast.officer, catalogue(kite), TYRE)
    address = f"{catalogue(kite)}/{item['id']}"
    answer = problem(change(cast.officer, address, {"critical": True}), 422, "invalid")
    assert pointers(answer) == {"/deferrable": "critical"}
    assert cast.officer.get(address).json() == item


def test_the_code_stays(cast: Cast, kite: AircraftType) -> None:
    item = created(cast.officer, catalogue(kite), TYRE)
    answer = change(cast.officer, f"{catalogue(kite)}/{item['id']}", {"code": "other"})
    assert pointers(problem(answer, 422, "invalid")) == {"/code": "unknown_field"}


def test_making_an_item_critical_grounds_aircraft_with_a_defect_on_it(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    reported(aircraft)
    assert fresh(aircraft).airworthiness.status == "limited"
    item = Item.objects.get(aircraft_type=aircraft.aircraft_type, code=PLAIN)
    address = f"{catalogue(aircraft.aircraft_type)}/{item.id}"
    done = change(cast.officer, address, {"critical": True, "deferrable": False})
    assert done.status_code == 200, done.content
    assert fresh(aircraft).airworthiness.status == "grounded"
    assert Event.objects.filter(kind="item_change", aircraft=aircraft).count() == 1
    refusal = problem(change(cast.officer, address, {"critical": False}), 409, "conflict")
    assert refusal["code"] == "open_defects"


def test_another_club_sees_and_changes_nothing(cast: Cast, kite: AircraftType) -> None:
    item = created(cast.officer, catalogue(kite), TYRE)
    other = make_cast().officer
    address = f"{catalogue(kite)}/{item['id']}"
    not_there(other, catalogue(kite), address, f"{catalogue(kite)}/{uuid4()}")
    problem(other.post(catalogue(kite), BALLAST), 404, "not_found")
    problem(other.patch(address, {"title": "Mine"}, headers={"If-Match": "*"}), 404, "not_found")


def test_an_item_belongs_to_its_type(cast: Cast, kite: AircraftType) -> None:
    item = created(cast.officer, catalogue(kite), TYRE)
    not_there(cast.officer, f"{catalogue(AircraftTypeFactory.create(club=cast.club))}/{item['id']}")


def test_filters_and_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    of_type = make_type(cast.club)

    def codes(query: str) -> list[str]:
        return [one["code"] for one in cast.pilot.get(f"{catalogue(of_type)}{query}").json()["results"]]

    cast.pilot.get(catalogue(of_type))  # notes the use of the token
    with django_assert_num_queries(3):  # token, type, items
        listed = codes("")
    assert listed == sorted(listed)
    assert len(listed) == of_type.items.count() == 4
    assert codes("?critical=true&zone=cockpit") == [CRITICAL]
    assert codes("?zone=gear") == [MEASURED]
