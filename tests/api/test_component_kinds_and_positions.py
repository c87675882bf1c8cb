"""Component kinds and positions over HTTP."""

from typing import Any
from uuid import uuid4

import pytest

from fleet.models import AircraftType, ComponentKind, Position, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import make_kind, make_position, make_type

pytestmark = pytest.mark.django_db
KINDS, POSITIONS = "/api/v1/component-kinds", "/api/v1/positions"
KEEPERS = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def of_type(cast: Cast) -> AircraftType:
    return make_type(cast.club)


def kind_body(**changes: Any) -> dict[str, Any]:
    return {"designation": "Tow release", "part_number": "TR-9", "manufacturer": "Invented Works"} | changes


def position_body(of_type: AircraftType, *kinds: ComponentKind, **changes: Any) -> dict[str, Any]:
    body = {"aircraft_type": str(of_type.id), "code": "nose", "title": "Nose", "required": True}
    return body | {"kinds": [str(kind.id) for kind in kinds]} | changes


def test_a_kind(cast: Cast) -> None:
    made = created(cast.officer, KINDS, kind_body())
    assert made.items() >= kind_body().items()
    again = problem(cast.officer.post(KINDS, kind_body()), 409, "conflict")
    assert again["detail"] == "Your club has a component kind with this part number. Use that one."
    created(make_cast().officer, KINDS, kind_body())  # another club's own
    assert cast.pilot.get(f"{KINDS}?part_number=TR-9").json()["results"] == [made]
    assert cast.pilot.get(f"{KINDS}?part_number=TR-8").json()["results"] == []


def test_a_position_of_a_type(cast: Cast, of_type: AircraftType) -> None:
    kind = make_kind(cast.club)
    made = created(cast.officer, POSITIONS, position_body(of_type, kind))
    assert made.items() >= (position_body(of_type, kind) | {"parent_kind": None}).items()
    problem(cast.officer.post(POSITIONS, position_body(of_type, kind)), 409, "conflict")


def test_a_position_of_a_kind(cast: Cast, of_type: AircraftType) -> None:
    outer, inner = make_kind(cast.club), make_kind(cast.club)
    body = position_body(of_type, inner, parent_kind=str(outer.id), required=False)
    del body["aircraft_type"]
    made = created(cast.officer, POSITIONS, body)
    assert (made["parent_kind"], made["aircraft_type"]) == (str(outer.id), None)
    make_position(of_type, outer)
    assert [one["id"] for one in cast.pilot.get(f"{POSITIONS}?parent_kind={outer.id}").json()["results"]] == [
        made["id"]
    ]
    assert len(cast.pilot.get(f"{POSITIONS}?aircraft_type={of_type.id}").json()["results"]) == 1
    assert cast.pilot.get(f"{POSITIONS}?required=true").json()["results"] == []


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"code": "No good"}, "/code", "invalid"),
        ({"kinds": []}, "/kinds", "min_length"),
        ({"kinds": [str(uuid4())]}, "/kinds/0", "unknown_kind"),
        ({"kinds": ["x"]}, "/kinds/0", "invalid"),
        ({"aircraft_type": None}, "/aircraft_type", "one_of"),
    ],
)
def test_wrong_fields_are_named(
    cast: Cast, of_type: AircraftType, wrong: dict[str, Any], pointer: str, code: str
) -> None:
    body = position_body(of_type, make_kind(cast.club), **wrong)
    assert pointers(problem(cast.officer.post(POSITIONS, body), 422, "invalid")) == {pointer: code}
    assert not Position.objects.exists()


def test_a_position_is_changed(cast: Cast, of_type: AircraftType) -> None:
    position = make_position(of_type, make_kind(cast.club), required=True)
    newer, address = make_kind(cast.club), f"{POSITIONS}/{position.id}"
    done = change(cast.officer, address, {"kinds": [str(newer.id)], "title": "Nose wheel"}).json()
    assert (done["kinds"], done["title"], done["required"]) == ([str(newer.id)], "Nose wheel", True)
    problem(change(cast.administrator, address, {"required": False}), 403, "forbidden")
    assert change(cast.officer, address, {"required": False}).json()["required"] is False
    assert pointers(problem(change(cast.officer, address, {"code": "x"}), 422, "invalid")) == {"/code": "unknown_field"}
    guarded(cast.officer, address, {"title": "Belly"})


def test_who_may(cast: Cast, of_type: AircraftType) -> None:
    kind = make_kind(cast.club)
    only_for(cast, KEEPERS, "post", KINDS, kind_body())
    only_for(cast, KEEPERS, "post", POSITIONS, position_body(of_type, kind))
    only_for(cast, KEEPERS, "patch", f"{POSITIONS}/{make_position(of_type, kind).id}", {"title": "x"})


def test_another_club_sees_nothing(cast: Cast, of_type: AircraftType) -> None:
    kind, other = make_kind(cast.club), make_cast()
    position = make_position(of_type, kind)
    not_there(other.officer, f"{KINDS}/{kind.id}", f"{POSITIONS}/{position.id}")
    foreign = position_body(of_type, make_kind(other.club), code="x")
    problem(other.officer.post(POSITIONS, foreign), 404, "not_found")
    own = position_body(make_type(other.club), kind, code="x")
    assert pointers(problem(other.officer.post(POSITIONS, own), 422, "invalid")) == {"/kinds/0": "unknown_kind"}
    assert other.pilot.get(POSITIONS).json()["results"] == []


def test_lists_take_as_many_queries_for_many(cast: Cast, of_type: AircraftType, django_assert_num_queries: Any) -> None:
    cast.pilot.get(KINDS)  # notes the use of the token
    for _ in range(2):
        make_position(of_type, make_kind(cast.club), make_kind(cast.club))
        with django_assert_num_queries(2):
            cast.pilot.get(KINDS)
        with django_assert_num_queries(3):  # and what fits
            cast.pilot.get(POSITIONS)
