"""Sheets over HTTP: versions of a route that never change."""

from typing import Any
from uuid import uuid4

import pytest

from fleet.models import AircraftType, Item, Role
from tests.api.cast import Cast, change, created, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import CRITICAL, MEASURED, PLAIN, TWO_PERSON, make_type

pytestmark = pytest.mark.django_db
ROUTE = [CRITICAL, MEASURED, TWO_PERSON, PLAIN]
DAILY: dict[str, Any] = {"kind": "daily", "title": "Daily walk", "lines": ROUTE}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def kite(cast: Cast) -> AircraftType:
    return make_type(cast.club)


def sheets(of_type: AircraftType) -> str:
    return f"/api/v1/aircraft-types/{of_type.id}/sheets"


def test_a_sheet_is_published_in_the_order_of_the_walk(cast: Cast, kite: AircraftType) -> None:
    made = created(cast.officer, sheets(kite), DAILY)
    assert (made["kind"], made["version"], made["title"]) == ("daily", 1, "Daily walk")
    assert [(line["position"], line["item"]) for line in made["lines"]] == list(enumerate(ROUTE, start=1))
    tyre = made["lines"][1]
    assert (tyre["quantity"], tyre["unit"], tyre["minimum"], tyre["maximum"]) == ("pressure", "bar", 3, 3.6)
    assert all(line["required"] for line in made["lines"])


def test_a_published_version_keeps_its_words(cast: Cast, kite: AircraftType) -> None:
    first = created(cast.officer, sheets(kite), DAILY)
    item = Item.objects.get(aircraft_type=kite, code=PLAIN)
    address = f"/api/v1/aircraft-types/{kite.id}/items/{item.id}"
    assert (
        change(cast.officer, address, {"title": "New words", "critical": True, "deferrable": False}).status_code == 200
    )
    assert cast.officer.get(f"{sheets(kite)}/{first['id']}").json() == first
    second = created(cast.officer, sheets(kite), DAILY)
    assert (second["version"], second["lines"][3]["title"], second["lines"][3]["critical"]) == (2, "New words", True)


def test_only_versions_in_force(cast: Cast, kite: AircraftType) -> None:
    created(cast.officer, sheets(kite), DAILY)
    current = created(cast.officer, sheets(kite), {**DAILY, "lines": ROUTE[:2]})
    periodic = created(cast.officer, sheets(kite), {**DAILY, "kind": "periodic"})

    def listed(query: str) -> list[tuple[str, int]]:
        found = cast.pilot.get(f"{sheets(kite)}{query}").json()["results"]
        return [(one["kind"], one["version"]) for one in found]

    assert listed("") == [("periodic", 1), ("daily", 2), ("daily", 1)]
    assert listed("?current=true") == [(periodic["kind"], 1), (current["kind"], 2)]
    assert listed("?current=true&kind=daily") == [("daily", 2)]
    assert listed("?current=false") == [("daily", 1)]


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"kind": "weekly"}, "/kind", "invalid_choice"),
        ({"title": ""}, "/title", "blank"),
        ({"lines": []}, "/lines", "min_length"),
        ({"lines": "all"}, "/lines", "not_a_list"),
        ({"lines": [CRITICAL, "unheard-of"]}, "/lines/1", "unknown_item"),
        ({"lines": [CRITICAL, CRITICAL]}, "/lines/1", "twice"),
        ({"lines": [CRITICAL, 7]}, "/lines/1", "invalid"),
        ({"kind": "after_rigging", "lines": [PLAIN]}, "/lines", "two_person_missing"),
        ({"version": 7}, "/version", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, kite: AircraftType, wrong: dict[str, Any], pointer: str, code: str) -> None:
    body = problem(cast.officer.post(sheets(kite), {**DAILY, **wrong}), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not kite.sheets.exists()


def test_only_keepers_publish_and_nobody_changes(cast: Cast, kite: AircraftType) -> None:
    only_for(cast, {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}, "post", sheets(kite), DAILY)
    made = created(cast.officer, sheets(kite), DAILY)
    answer = cast.officer.patch(f"{sheets(kite)}/{made['id']}", {"title": "x"}, headers={"If-Match": "*"})
    problem(answer, 405, "method_not_allowed")


def test_another_club_sees_nothing(cast: Cast, kite: AircraftType) -> None:
    made = created(cast.officer, sheets(kite), DAILY)
    other = make_cast().officer
    not_there(other, sheets(kite), f"{sheets(kite)}/{made['id']}")
    problem(other.post(sheets(kite), DAILY), 404, "not_found")
    not_there(cast.officer, f"{sheets(kite)}/{uuid4()}", f"{sheets(make_type(cast.club))}/{made['id']}")


def test_constant_queries(cast: Cast, kite: AircraftType, django_assert_num_queries: Any) -> None:
    cast.pilot.get(sheets(kite))  # notes the use of the token
    for _ in range(3):
        created(cast.officer, sheets(kite), DAILY)
        with django_assert_num_queries(4):  # token, type, sheets, lines
            cast.pilot.get(sheets(kite))
