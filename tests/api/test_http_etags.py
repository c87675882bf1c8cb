"""Versions: ETag, If-None-Match, If-Match (RFC 9110, section 13)."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from fleet.models import AircraftType
from tests.api.clients import client_of, problem
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"


@pytest.fixture
def client() -> APIClient:
    return client_of(MemberFactory.create())


@pytest.fixture
def made(client: APIClient) -> Any:
    return client.post(THINGS, {"name": "one"})


@pytest.fixture
def thing(made: Any) -> str:
    return f"{THINGS}/{made.json()['id']}"


def test_created_says_where_and_which_version(client: APIClient, made: Any, thing: str) -> None:
    assert made["Location"] == thing
    assert made["ETag"] == client.get(thing)["ETag"]


def test_a_tag_is_strong_and_follows_the_content(client: APIClient, thing: str) -> None:
    before = client.get(thing)["ETag"]
    assert before.startswith('"')
    assert client.get(thing)["ETag"] == before
    changed = client.patch(thing, {"seats": 2}, HTTP_IF_MATCH=before)
    assert changed.status_code == 200
    assert changed["ETag"] == client.get(thing)["ETag"] != before


@pytest.mark.parametrize("form", ["{}", "W/{}", '"other", {}', '"other",W/{}', "*"])
def test_what_the_client_has_is_a_304(client: APIClient, thing: str, form: str) -> None:
    """If-None-Match compares weakly (13.1.2)."""
    tag = client.get(thing)["ETag"]
    response = client.get(thing, HTTP_IF_NONE_MATCH=form.format(tag))
    assert (response.status_code, response.content, response["ETag"]) == (304, b"", tag)
    assert "Content-Type" not in response or response["Content-Length"] == "0"
    assert client.head(thing, HTTP_IF_NONE_MATCH=form.format(tag)).status_code == 304


@pytest.mark.parametrize("header", ['"other"', 'W/"other"', "", "nonsense", '"'])
def test_what_the_client_has_not_is_a_200(client: APIClient, thing: str, header: str) -> None:
    assert client.get(thing, HTTP_IF_NONE_MATCH=header).status_code == 200


def test_a_list_has_a_tag_too(client: APIClient, thing: str) -> None:
    tag = client.get(THINGS)["ETag"]
    assert client.get(THINGS, HTTP_IF_NONE_MATCH=tag).status_code == 304
    client.post(THINGS, {"name": "two"})
    assert client.get(THINGS, HTTP_IF_NONE_MATCH=tag).status_code == 200


def test_a_refusal_has_none(client: APIClient) -> None:
    assert "ETag" not in client.get(f"{THINGS}?unknown=1")


def test_a_private_answer_is_kept_by_nobody_else(client: APIClient, thing: str) -> None:
    assert client.get(thing)["Cache-Control"] == "private, no-cache"


def test_a_patch_must_name_a_version(client: APIClient, thing: str) -> None:
    problem(client.patch(thing, {"seats": 2}), 428, "precondition_required")
    assert AircraftType.objects.get().seats == 1


@pytest.mark.parametrize("form", ['"other"', "W/{}", "", "nonsense", '"other", W/{}'])
def test_a_patch_of_another_version_is_a_412(client: APIClient, thing: str, form: str) -> None:
    """If-Match compares strongly: a weak tag never matches (13.1.1)."""
    tag = client.get(thing)["ETag"]
    problem(client.patch(thing, {"seats": 2}, HTTP_IF_MATCH=form.format(tag)), 412, "stale")
    assert AircraftType.objects.get().seats == 1


@pytest.mark.parametrize("form", ["{}", '"other", {}', "*"])
def test_a_patch_of_this_version_goes_through(client: APIClient, thing: str, form: str) -> None:
    tag = client.get(thing)["ETag"]
    assert client.patch(thing, {"seats": 2}, HTTP_IF_MATCH=form.format(tag)).json()["seats"] == 2


def test_the_same_tag_does_not_change_twice(client: APIClient, thing: str) -> None:
    tag = client.get(thing)["ETag"]
    assert client.patch(thing, {"seats": 2}, HTTP_IF_MATCH=tag).status_code == 200
    problem(client.patch(thing, {"seats": 3}, HTTP_IF_MATCH=tag), 412, "stale")


def test_an_act_may_name_a_version(client: APIClient, thing: str) -> None:
    tag = client.get(thing)["ETag"]
    assert client.post(f"{thing}/act").status_code == 201
    problem(client.post(f"{thing}/act", HTTP_IF_MATCH=tag), 412, "stale")
    assert client.post(f"{thing}/act", HTTP_IF_MATCH=client.get(thing)["ETag"]).status_code == 201
    assert AircraftType.objects.get().seats == 3
