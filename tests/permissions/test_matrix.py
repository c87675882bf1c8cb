"""Every endpoint by every role, by nobody and by another club. A route without a row in the table fails."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.http import HttpResponse

from config.api_v1 import urlpatterns
from fleet.models import Role
from tests.factories import MemberFactory
from tests.permissions.table import PERSONAL, TABLE, may
from tests.permissions.world import World, client_of, make_world

pytestmark = pytest.mark.django_db
METHODS = ("GET", "POST", "PATCH", "DELETE")


def routes() -> dict[str, set[str]]:
    """Route -> methods, from the resolver."""
    found: dict[str, set[str]] = {}
    for pattern in urlpatterns:
        route = str(pattern.pattern)
        view = vars(pattern.callback)["view_class"]
        if not route.endswith("/"):
            found[route] = {method for method in METHODS if hasattr(view, method.lower())}
    return found


def rows() -> Iterator[tuple[str, str]]:
    for route, methods in TABLE.items():
        for method in methods:
            yield route, method


@pytest.fixture
def world() -> World:
    return make_world()


def call(member: Any, method: str, url: str) -> HttpResponse:
    """With an empty body: who may, gets past the roles and is told what is missing."""
    body: dict[str, Any] | None = {} if method in {"POST", "PATCH"} else None
    answer: HttpResponse = getattr(client_of(member), method.lower())(url, body, format="json")
    return answer


def test_the_table_has_a_row_for_every_route_and_method() -> None:
    assert {route: set(methods) for route, methods in TABLE.items()} == routes()


def test_nobody_gets_in_without_signing_in(world: World) -> None:
    for route, method in rows():
        answer = call(None, method, world.url(route))
        if TABLE[route][method] == "-":
            assert answer.status_code in {200, 422}, (route, method, answer.content)
        else:
            assert answer.status_code == 401, (route, method, answer.content)
            assert answer["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize("role", list(Role))
def test_each_role_may_what_the_table_says(world: World, role: Role) -> None:
    for route, method in rows():
        answer = call(world.members[role], method, world.url(route))
        allowed = may(route, method, role)
        if allowed and route in PERSONAL and role is not Role.PILOT:
            assert answer.status_code in {200, 404, 422}, (route, method, answer.content)  # another's own things
        elif allowed:
            assert answer.status_code not in {401, 403, 404, 405}, (route, method, answer.content)
        else:
            assert answer.status_code == 403, (route, method, answer.content)
        assert answer.status_code < 500, (route, method, answer.content)


def test_another_clubs_records_are_not_there(world: World) -> None:
    """Its answer is the same as for an id that exists nowhere, to the last word, and nothing of it is in any list."""
    other = make_world()
    stranger = MemberFactory.create(club=other.club, roles=list(Role))
    secret = {str(value) for value in world.ids.values()} | {
        str(world.club.id),
        world.club.name,
        world.aircraft.registration,
    }
    for route, method in rows():
        answer = call(stranger, method, world.url(route))
        if "<uuid" in route:
            nowhere = call(stranger, method, world.url(route, unknown=True))
            assert answer.status_code == nowhere.status_code, (route, method, answer.content)
            assert answer.content == nowhere.content, (route, method)
            assert answer.status_code in {404, 422}, (route, method, answer.content)
        else:
            text = answer.content.decode()
            assert not [one for one in secret if one in text], (route, method)


def test_filters_find_nothing_of_another_club(world: World) -> None:
    other = make_world()
    stranger = client_of(MemberFactory.create(club=other.club, roles=list(Role)))
    for route in ("defects", "inspections", "occurrences", "rigging-events", "documents", "events", "attachments"):
        answer = stranger.get(f"/api/v1/{route}", {"aircraft": str(world.aircraft.id)})
        assert answer.status_code == 200, (route, answer.content)
        assert answer.json()["results"] == [], route


def test_ids_of_another_club_in_a_body_are_not_there(world: World) -> None:
    other = make_world()
    stranger = client_of(MemberFactory.create(club=other.club, roles=list(Role)))
    when = "2026-01-01T10:00:00Z"
    foreign = str(world.aircraft.id)
    bodies: dict[str, dict[str, Any]] = {
        "defects": {"aircraft": foreign, "description": "x", "found_at": when},
        "occurrences": {"aircraft": foreign, "kind": "hail", "description": "x", "occurred_at": when},
        "rigging-events": {"aircraft": foreign, "kind": "rigged", "occurred_at": when},
        "inspections": {"aircraft": foreign, "kind": "daily", "started_at": when, "completed_at": when, "results": []},
        "documents": {"aircraft": foreign, "kind": "insurance", "issued_on": "2026-01-01"},
    }
    for route, body in bodies.items():
        answer = stranger.post(f"/api/v1/{route}", body, format="json")
        assert answer.status_code == 404, (route, answer.content)


def test_a_disabled_member_is_out_at_the_next_request(world: World) -> None:
    pilot = world.members[Role.PILOT]
    client = client_of(pilot)
    assert client.get("/api/v1/board").status_code == 200
    pilot.active = False
    pilot.save()
    assert client.get("/api/v1/board").status_code == 401
