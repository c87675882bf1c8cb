"""The OpenAPI document and the page made of it."""

import re
from html.parser import HTMLParser
from io import StringIO
from typing import Any

import jsonschema_rs
import orjson
import pytest
import yaml
from django.core.management import call_command

from config import api_document
from config.api_reference import reference, words
from tests.api.clients import anonymous, client_of, problem
from tests.factories import MemberFactory

METHODS = {"get", "post", "patch", "delete"}


@pytest.fixture
def document() -> dict[str, Any]:
    """Of the real addresses."""
    return api_document.document()


@pytest.fixture
def throwaway(settings: Any) -> dict[str, Any]:
    """Of the throw-away addresses."""
    settings.ROOT_URLCONF = "tests.api.throwaway"
    return api_document.document.__wrapped__()


def operations(document: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [(path, method, one) for path, item in document["paths"].items() for method, one in item.items()]


def test_it_is_valid_and_nothing_is_left_to_guess() -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", stdout=StringIO(), stderr=StringIO())


def test_it_is_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"].startswith("3.1.")


def test_every_operation_has_a_name_a_resource_and_a_summary(document: dict[str, Any]) -> None:
    ids = [one["operationId"] for _, _, one in operations(document)]
    assert len(ids) == len(set(ids))
    for path, method, one in operations(document):
        assert method in METHODS
        assert one["tags"] == [path.removeprefix("/api/v1/").split("/")[0]]
        assert one["summary"], path


def test_no_address_is_listed_twice(document: dict[str, Any]) -> None:
    assert not [path for path in document["paths"] if path.endswith("/") or "{pk}" in path]


def test_every_refusal_is_a_problem(document: dict[str, Any]) -> None:
    for path, _method, one in operations(document):
        for status, response in one["responses"].items():
            if status >= "4":
                assert list(response["content"]) == ["application/problem+json"], path


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    schemas = document["components"]["schemas"]
    assert set(re.findall(r"#/components/schemas/([\w.-]+)", str(document))) <= set(schemas)


def test_patterns_are_read_by_every_language(document: dict[str, Any]) -> None:
    """JSON Schema, section 6.3.3 (ECMA-262): there is no ``\\Z`` and no ``(?P``."""
    assert not re.findall(r"'pattern': '[^']*(?:\\\\Z|\\\\A|\(\?P)", str(document))


@pytest.mark.parametrize(
    ("path", "method", "statuses"),
    [
        ("/api/v1/things", "get", "200 304 401 403 406 422 500 503"),
        ("/api/v1/things", "post", "200 201 400 401 403 404 406 409 413 415 422 500 503"),
        ("/api/v1/things/{id}", "get", "200 304 401 403 404 406 422 500 503"),
        ("/api/v1/things/{id}", "patch", "200 400 401 403 404 406 409 412 413 415 422 428 500 503"),
        ("/api/v1/things/{id}/act", "post", "201 400 401 403 404 406 409 412 413 415 422 500 503"),
        ("/api/v1/tokens", "post", "201 400 401 403 406 413 415 422 429 500 503"),
        ("/api/v1/tokens/{id}", "delete", "204 401 403 404 406 409 422 500 503"),
        ("/api/v1/problems", "get", "200 304 406 422 500 503"),
    ],
)
def test_which_answers_are_documented(throwaway: dict[str, Any], path: str, method: str, statuses: str) -> None:
    assert " ".join(throwaway["paths"][path][method]["responses"]) == statuses


def parameters(document: dict[str, Any], path: str, method: str) -> dict[str, tuple[str, bool]]:
    found = document["paths"][path][method].get("parameters", ())
    return {one["name"]: (one["in"], one.get("required", False)) for one in found}


def test_headers_filters_and_pages_are_documented(throwaway: dict[str, Any]) -> None:
    thing = "/api/v1/things/{id}"
    assert parameters(throwaway, "/api/v1/things", "post") == {"Idempotency-Key": ("header", False)}
    assert parameters(throwaway, thing, "patch") == {"If-Match": ("header", True), "id": ("path", True)}
    acting = parameters(throwaway, f"{thing}/act", "post")
    assert acting == {"Idempotency-Key": ("header", False), "If-Match": ("header", False), "id": ("path", True)}
    listing = parameters(throwaway, "/api/v1/things", "get")
    assert set(listing) == {"category", "seats", "big", "limit", "cursor", "ordering", "If-None-Match"}
    created = throwaway["paths"]["/api/v1/things"]["post"]["responses"]["201"]["headers"]
    assert {"Location", "ETag"} <= set(created)


def test_open_methods_need_nobody(throwaway: dict[str, Any]) -> None:
    assert throwaway["paths"]["/api/v1/tokens"]["post"]["security"] == [{}]
    assert throwaway["paths"]["/api/v1/things"]["post"]["security"] == [{"bearer": []}, {"session": []}]


def test_bodies_may_hold_nothing_unknown(throwaway: dict[str, Any]) -> None:
    schemas = throwaway["components"]["schemas"]
    assert schemas["ThingBodyRequest"]["additionalProperties"] is False
    assert "additionalProperties" not in schemas["ThingShape"]


@pytest.mark.django_db
@pytest.mark.urls("tests.api.throwaway")
def test_answers_are_as_documented(throwaway: dict[str, Any]) -> None:
    client = client_of(MemberFactory.create())
    client.post("/api/v1/things", {"name": "one"})
    answers = {
        "ThingShapePage": client.get("/api/v1/things"),
        "Problem": client.get("/api/v1/things?unknown=1"),
        "TokenShapePage": client.get("/api/v1/tokens"),
        "ProblemTypesShape": client.get("/api/v1/problems"),
    }
    for name, response in answers.items():
        schema = {"$ref": f"#/components/schemas/{name}", "components": throwaway["components"]}
        jsonschema_rs.validator_for(schema).validate(response.json())


@pytest.mark.parametrize(
    ("query", "accept", "content_type"),
    [
        ("", "*/*", "application/json"),
        ("", "application/json", "application/json"),
        ("", "application/vnd.oai.openapi+json", "application/vnd.oai.openapi+json"),
        ("", "application/yaml", "application/yaml"),
        ("?format=yaml", "*/*", "application/yaml"),
        ("?format=json", "application/yaml", "application/json"),
    ],
)
def test_it_is_served_to_everybody(document: dict[str, Any], query: str, accept: str, content_type: str) -> None:
    for path in ("/api/v1/schema", "/api/v1/schema/"):
        response = anonymous().get(f"{path}{query}", HTTP_ACCEPT=accept)
        assert response.status_code == 200
        assert response["Content-Type"] == content_type
        read = yaml.safe_load(response.content) if "yaml" in content_type else orjson.loads(response.content)
        assert read == document


def test_it_has_a_version(document: dict[str, Any]) -> None:
    tag = anonymous().get("/api/v1/schema")["ETag"]
    assert anonymous().get("/api/v1/schema", HTTP_IF_NONE_MATCH=tag).status_code == 304
    problem(anonymous().get("/api/v1/schema?format=xml"), 422, "invalid")


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


@pytest.fixture
def page() -> _Page:
    response = anonymous().get("/api/v1/docs", HTTP_ACCEPT="text/html")
    assert response.status_code == 200
    assert response["Content-Type"].startswith("text/html")
    parsed = _Page()
    parsed.feed(response.content.decode())
    return parsed


def test_the_page_shows_every_operation(page: _Page, document: dict[str, Any]) -> None:
    ids = {attributes.get("id") for _, attributes in page.tags}
    assert {one["operationId"] for _, _, one in operations(document)} <= ids
    assert {f"schema-{name}" for name in document["components"]["schemas"]} <= ids


def test_the_page_runs_nothing_and_loads_nothing_from_elsewhere(page: _Page) -> None:
    names = {tag for tag, _ in page.tags}
    assert not names & {"script", "style", "iframe", "object", "img"}
    for _, attributes in page.tags:
        assert "style" not in attributes
        assert not [name for name in attributes if name.startswith("on")]
        target = attributes.get("href") or ""
        assert target.startswith(("#", "/")) or not target


def test_every_link_of_the_page_leads_somewhere(page: _Page) -> None:
    ids = {attributes.get("id") for _, attributes in page.tags}
    assert {target[1:] for _, a in page.tags if (target := a.get("href") or "").startswith("#")} <= ids


def test_examples_are_shown() -> None:
    body = {"content": {"application/json": {"schema": {}, "examples": {"a": {"summary": "First", "value": {"b": 1}}}}}}
    operation = {"operationId": "x", "responses": {"201": {"description": ""}}, "requestBody": body}
    shown = reference({"openapi": "3.1.1", "info": {}, "paths": {"/x": {"post": operation}}})
    assert shown["groups"][0][1][0].bodies[0].examples == (("First", '{\n  "b": 1\n}'),)


@pytest.mark.parametrize(
    ("schema", "expected"),
    [
        ({"type": "string", "format": "uuid"}, ("string (uuid)", "")),
        ({"type": ["string", "null"]}, ("string or null", "")),
        ({"$ref": "#/components/schemas/Thing"}, ("Thing", "Thing")),
        ({"type": "array", "items": {"$ref": "#/components/schemas/Thing"}}, ("list of Thing", "Thing")),
        ({"oneOf": [{"$ref": "#/components/schemas/A"}, {"type": "null"}]}, ("A or null", "A")),
        ({"enum": ["a", "b", None]}, ("one of a, b", "")),
        ({"type": "integer", "minimum": 1, "maximum": 5}, ("integer, at least 1, at most 5", "")),
        ({}, ("anything", "")),
    ],
)
def test_types_in_words(schema: dict[str, Any], expected: tuple[str, str]) -> None:
    assert words(schema) == expected
