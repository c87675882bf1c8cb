"""Lists: keyset pages, ordering, filters; a typo never shows more than was asked for."""

from base64 import urlsafe_b64encode
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

import orjson
import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from fleet.models import AircraftType, Membership
from tests.api.clients import client_of, pointers, problem
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"
NUMBER = 23


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


@pytest.fixture
def client(pilot: Membership) -> APIClient:
    """With things of which many share their seats and their instant."""
    now = timezone.now()
    AircraftType.objects.bulk_create(
        AircraftType(
            club=pilot.club,
            designation=f"T{number:03}",
            manufacturer="Invented Works",
            category="sailplane" if number % 3 else "aeroplane",
            seats=1 + number % 2,
            created_at=now - timedelta(days=number // 10),
        )
        for number in range(NUMBER)
    )
    return client_of(pilot)


def walk(client: APIClient, url: str, direction: str = "next") -> list[list[str]]:
    """Names, page by page, as the links lead."""
    pages = []
    link: str | None = url
    while link:
        body = client.get(link).json()
        pages.append([row["name"] for row in body["results"]])
        link = body[direction]
        assert len(pages) < 100
    return pages


@pytest.mark.parametrize("ordering", ["designation", "-designation", "seats", "-seats", "created_at", "-created_at"])
@pytest.mark.parametrize("limit", [1, 2, 5, 22, 23, 24])
def test_a_walk_shows_every_row_once_in_order(client: APIClient, ordering: str, limit: int) -> None:
    pages = walk(client, f"{THINGS}?ordering={ordering}&limit={limit}")
    name = ordering.lstrip("-")
    sign = "-" if ordering.startswith("-") else ""
    expected = list(AircraftType.objects.order_by(ordering, f"{sign}pk").values_list("designation", flat=True))
    assert [row for page in pages for row in page] == expected
    assert {len(page) for page in pages[:-1]} <= {limit}
    assert name in {"designation", "seats", "created_at"}


@pytest.mark.parametrize("ordering", ["designation", "-seats"])
def test_the_way_back_shows_the_same_pages(client: APIClient, ordering: str) -> None:
    url = f"{THINGS}?ordering={ordering}&limit=5"
    forward = walk(client, url)
    last, link = {}, url
    while link:
        last = client.get(link).json()
        link = last["next"]
    back = walk(client, last["previous"], "previous")
    assert list(reversed(back)) == forward[:-1]


def test_first_and_last_page_say_so(client: APIClient) -> None:
    first = client.get(f"{THINGS}?limit=20").json()
    assert first["previous"] is None
    second = client.get(first["next"]).json()
    assert second["next"] is None
    assert client.get(second["previous"]).json()["results"] == first["results"]
    assert client.get(second["previous"]).json()["previous"] is None


def test_the_link_header_says_the_same(client: APIClient) -> None:
    first = client.get(f"{THINGS}?limit=5")
    assert first["Link"] == f'<{first.json()["next"]}>; rel="next"'
    second = client.get(first.json()["next"])
    assert second["Link"].endswith('rel="prev"')
    assert "Link" not in client.get(THINGS)


def test_filters_stay_in_the_links(client: APIClient) -> None:
    pages = walk(client, f"{THINGS}?category=aeroplane&limit=3")
    assert sum(map(len, pages)) == AircraftType.objects.filter(category="aeroplane").count()


def test_a_row_that_goes_or_comes_moves_no_other(client: APIClient, pilot: Membership) -> None:
    first = client.get(f"{THINGS}?limit=5").json()
    AircraftType.objects.filter(designation="T004").delete()
    AircraftType.objects.create(
        club=pilot.club, designation="A", manufacturer="x", category="sailplane", created_at=timezone.now()
    )
    assert client.get(first["next"]).json()["results"][0]["name"] == "T005"


def test_limits(client: APIClient, pilot: Membership) -> None:
    now = timezone.now()
    AircraftType.objects.bulk_create(
        AircraftType(club=pilot.club, designation=f"U{n:03}", manufacturer="x", category="sailplane", created_at=now)
        for n in range(250)
    )
    assert len(client.get(THINGS).json()["results"]) == 50
    assert len(client.get(f"{THINGS}?limit=200").json()["results"]) == 200
    assert len(client.get(f"{THINGS}?limit=100000").json()["results"]) == 200


@pytest.mark.parametrize("limit", ["0", "-1", "x", "1.5", "", "\u0661", "1e3", "1,2"])
def test_a_limit_that_is_none_is_a_422(client: APIClient, limit: str) -> None:
    assert set(pointers(problem(client.get(f"{THINGS}?{urlencode({'limit': limit})}"), 422, "invalid"))) == {"/limit"}


@pytest.mark.parametrize("ordering", ["name", "club", "designation,seats", "--seats", "club__name", "?", "-", "pk"])
def test_only_named_fields_order(client: APIClient, ordering: str) -> None:
    body = problem(client.get(f"{THINGS}?{urlencode({'ordering': ordering})}"), 422, "invalid")
    assert pointers(body) == {"/ordering": "invalid_ordering"}
    assert "seats" in body["detail"]


def forged(*parts: object) -> str:
    return urlsafe_b64encode(orjson.dumps(list(parts))).decode()


@pytest.mark.parametrize(
    "cursor",
    [
        "x",
        "!!!!",
        "a" * 3000,
        forged(),
        forged("designation"),
        forged("designation", False, "T001"),
        forged("designation", False, "T001", "no uuid"),
        forged("designation", False, 7, str(UUID(int=0))),
        forged("-designation", False, "T001", str(UUID(int=0))),
        forged("seats", False, "1", str(UUID(int=0))),
        forged("designation", False, None, None),
        forged({"a": 1}, [], "x", "y"),
        "bnVsbA",
    ],
)
def test_a_forged_cursor_is_a_422(client: APIClient, cursor: str) -> None:
    assert pointers(problem(client.get(THINGS, {"cursor": cursor}), 422, "invalid")) == {"/cursor": "invalid_cursor"}


@pytest.mark.parametrize("value", ["x", "99999999999999999999", "T\0"])
def test_a_forged_value_is_no_500(client: APIClient, value: str) -> None:
    for ordering in ("seats", "created_at", "designation"):
        cursor = forged(ordering, False, value, str(UUID(int=0)))
        assert client.get(THINGS, {"cursor": cursor, "ordering": ordering}).status_code in {200, 422}


@pytest.mark.parametrize(
    ("query", "parameter", "code"),
    [
        ("categry=aeroplane", "categry", "unknown_parameter"),
        ("Category=aeroplane", "Category", "unknown_parameter"),
        ("category=", "category", "blank"),
        ("category=%20", "category", "blank"),
        ("category=rocket", "category", "invalid_choice"),
        ("category=aeroplane&category=sailplane", "category", "repeated"),
        ("category=a%00", "category", "invalid"),
        ("seats=9", "seats", "invalid_choice"),
        ("big=perhaps", "big", "invalid"),
        ("page=2", "page", "unknown_parameter"),
        ("offset=2", "offset", "unknown_parameter"),
        ("format=json", "format", "unknown_parameter"),
    ],
)
def test_a_typo_never_shows_more(client: APIClient, query: str, parameter: str, code: str) -> None:
    body = problem(client.get(f"{THINGS}?{query}"), 422, "invalid")
    assert pointers(body) == {f"/{parameter}": code}


def test_a_repeatable_filter_takes_several(client: APIClient) -> None:
    assert len(client.get(f"{THINGS}?seats=1&seats=2").json()["results"]) == NUMBER
    assert len(client.get(f"{THINGS}?seats=2").json()["results"]) == NUMBER // 2


def test_unsafe_methods_take_no_parameters(client: APIClient) -> None:
    problem(client.post(f"{THINGS}?category=aeroplane", {"name": "one"}), 422, "invalid")


@pytest.mark.parametrize("query", ["", "?limit=5", "?ordering=-seats&limit=3"])
def test_any_page_is_one_query(
    client: APIClient, query: str, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    link: str | None = f"{THINGS}{query}"
    client.get(THINGS)  # notes the use of the token
    while link:
        with django_assert_num_queries(2) as context:  # the token, the page
            link = client.get(link).json()["next"]
        assert "count(" not in " ".join(one["sql"].lower() for one in context.captured_queries)
        assert "offset" not in context.captured_queries[1]["sql"].lower()


def test_the_place_is_one_row_comparison(client: APIClient, django_assert_num_queries: Any) -> None:
    link = client.get(f"{THINGS}?limit=5").json()["next"]
    with django_assert_num_queries(2) as context:
        client.get(link)
    assert '("fleet_aircrafttype"."designation", "fleet_aircrafttype"."id") > (' in context.captured_queries[1]["sql"]
