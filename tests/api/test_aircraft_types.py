"""Aircraft types over HTTP."""

from typing import Any
from uuid import uuid4

import pytest

from fleet.models import AircraftType, Event, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import AircraftTypeFactory

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/aircraft-types"
KITE: dict[str, Any] = {
    "designation": "Kite 21",
    "manufacturer": "Invented Works",
    "category": "powered_sailplane",
    "seats": 2,
}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def test_a_type_is_added_and_recorded(cast: Cast) -> None:
    made = created(cast.officer, ADDRESS, KITE)
    assert made.items() >= KITE.items()
    event = Event.objects.get(kind="aircraft_type_add")
    assert (event.subject_id, event.by) == (AircraftType.objects.get().id, cast.members[Role.TECHNICAL_OFFICER])


def test_seats_are_one_unless_told(cast: Cast) -> None:
    body = {name: value for name, value in KITE.items() if name != "seats"}
    assert created(cast.administrator, ADDRESS, body)["seats"] == 1


def test_only_keepers_write(cast: Cast) -> None:
    keepers = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}
    found = AircraftTypeFactory.create(club=cast.club)
    only_for(cast, keepers, "post", ADDRESS, KITE)
    only_for(cast, keepers, "patch", f"{ADDRESS}/{found.id}", {"seats": 1})
    assert AircraftType.objects.count() == 1


def test_everybody_reads(cast: Cast) -> None:
    found = AircraftTypeFactory.create(club=cast.club)
    for program in cast.programs.values():
        assert [one["id"] for one in program.get(ADDRESS).json()["results"]] == [str(found.id)]


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"designation": " "}, "/designation", "blank"),
        ({"designation": None}, "/designation", "null"),
        ({"designation": 21}, "/designation", "invalid"),
        ({"designation": "x" * 81}, "/designation", "max_length"),
        ({"category": "balloon"}, "/category", "invalid_choice"),
        ({"seats": 0}, "/seats", "min_value"),
        ({"seats": 21}, "/seats", "max_value"),
        ({"seats": "2"}, "/seats", "invalid"),
        ({"seats": True}, "/seats", "invalid"),
        ({"club": str(uuid4())}, "/club", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    body = problem(cast.officer.post(ADDRESS, {**KITE, **wrong}), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not AircraftType.objects.exists()


def test_a_designation_is_there_once_a_club(cast: Cast) -> None:
    created(cast.officer, ADDRESS, KITE)
    problem(cast.officer.post(ADDRESS, KITE), 409, "conflict")
    created(make_cast().officer, ADDRESS, KITE)


def test_changes_need_the_current_version(cast: Cast) -> None:
    found = AircraftTypeFactory.create(club=cast.club)
    guarded(cast.officer, f"{ADDRESS}/{found.id}", {"designation": "Kite 22", "seats": 1})
    event = Event.objects.get(kind="aircraft_type_change")
    assert '"seats":{"after":1,"before":2}' in event.canonical


def test_the_category_stays(cast: Cast) -> None:
    found = AircraftTypeFactory.create(club=cast.club)
    answer = change(cast.officer, f"{ADDRESS}/{found.id}", {"category": "aeroplane"})
    assert pointers(problem(answer, 422, "invalid")) == {"/category": "unknown_field"}


def test_another_club_sees_and_changes_nothing(cast: Cast) -> None:
    found = AircraftTypeFactory.create(club=cast.club)
    other = make_cast()
    not_there(other.officer, f"{ADDRESS}/{found.id}", f"{ADDRESS}/{uuid4()}")
    problem(other.officer.patch(f"{ADDRESS}/{found.id}", {"seats": 1}, headers={"If-Match": "*"}), 404, "not_found")
    assert other.officer.get(ADDRESS).json()["results"] == []


def test_filters_and_order(cast: Cast) -> None:
    for designation, category in (("B 2", "aeroplane"), ("A 1", "sailplane"), ("C 3", "sailplane")):
        AircraftTypeFactory.create(club=cast.club, designation=designation, category=category)

    def listed(query: str) -> list[str]:
        return [one["designation"] for one in cast.pilot.get(f"{ADDRESS}{query}").json()["results"]]

    assert listed("") == ["A 1", "B 2", "C 3"]
    assert listed("?ordering=-designation&category=sailplane") == ["C 3", "A 1"]
    assert listed("?designation=B 2") == ["B 2"]
    problem(cast.pilot.get(f"{ADDRESS}?category=balloon"), 422, "invalid")
