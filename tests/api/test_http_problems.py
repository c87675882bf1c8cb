"""Every refusal is an RFC 9457 problem of a documented type, whoever refuses."""

import json
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, SuspiciousOperation, TooManyFieldsSent
from django.core.exceptions import ValidationError as DjangoInvalid
from django.db import DataError, IntegrityError, OperationalError
from django.test import RequestFactory
from rest_framework.exceptions import APIException, ErrorDetail, Throttled

from config import problems
from config.problem_fields import field_errors
from config.problem_types import PROBLEM_TYPES
from config.problems import problem_of
from fleet.errors import Conflict, DomainError, FieldError, Forbidden, Invalid, Locked, NotFound, Stale
from fleet.models import AircraftType, Membership
from tests.api.clients import PROBLEM_JSON, anonymous, client_of, pointers, problem
from tests.api.throwaway import OutcomeView, sql
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"
ALL = ["get", "head", "post", "put", "patch", "delete", "options"]


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


@pytest.mark.parametrize("debug", [True, False])
@pytest.mark.parametrize(
    "path", ["/api/v1/nothing", "/api/v1/things/x/y", "/api/v2/things", "/api/v1", "/api", "/api/v1/%00"]
)
def test_an_unknown_address_is_a_problem(path: str, debug: bool, settings: Any) -> None:
    settings.DEBUG = debug
    for method in ALL:
        response = getattr(anonymous(), method)(path)
        assert response.status_code == 404
        assert response["Content-Type"] == PROBLEM_JSON
    problem(anonymous().get(path), 404, "not_found")


@pytest.mark.parametrize("pk", ["x", "00000000", "0" * 32, "%00", "../things"])
def test_a_malformed_id_in_an_address_is_a_404(pilot: Membership, pk: str) -> None:
    problem(client_of(pilot).get(f"{THINGS}/{pk}"), 404, "not_found")


@pytest.mark.parametrize("method", ["put", "delete", "options", "trace"])
def test_a_method_that_is_not_there_is_a_405_with_allow(pilot: Membership, method: str) -> None:
    response = getattr(client_of(pilot), method, lambda path: client_of(pilot).generic("TRACE", path))(THINGS)
    problem(response, 405, "method_not_allowed")
    assert {one.strip() for one in response["Allow"].split(",")} == {"GET", "HEAD", "POST"}


@pytest.mark.parametrize(
    ("headers", "status", "words"),
    [({"HTTP_ACCEPT": "text/csv"}, 406, "application/json"), ({"content_type": "text/plain"}, 415, "application/json")],
)
def test_what_the_framework_refuses_says_what_to_do(pilot: Membership, headers: Any, status: int, words: str) -> None:
    response: Any = client_of(pilot).generic("POST", THINGS, "x", **headers)
    assert response.status_code == status
    assert words in response.json()["detail"]


def test_a_made_up_method_is_a_405(pilot: Membership) -> None:
    problem(client_of(pilot).generic("DISPATCH", THINGS), 405, "method_not_allowed")


def test_an_unavailable_media_type_is_a_406(pilot: Membership) -> None:
    problem(client_of(pilot).get(THINGS, HTTP_ACCEPT="text/csv"), 406, "not_acceptable")


@pytest.mark.parametrize(
    "content_type",
    [
        "text/plain",
        "application/xml",
        "multipart/form-data; boundary=x",
        "application/x-www-form-urlencoded",
        "nonsense",
    ],
)
def test_a_body_that_is_not_read_here_is_a_415(pilot: Membership, content_type: str) -> None:
    problem(client_of(pilot).post(THINGS, b"name=one", content_type=content_type), 415, "unsupported_media_type")


def test_an_unexpected_error_is_a_logged_500_that_leaks_nothing(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def secret() -> Any:
        raise RuntimeError("secret of the house")

    monkeypatch.setattr(OutcomeView, "outcome", secret)
    response = client_of(pilot).post("/api/v1/outcome")
    problem(response, 500, "internal_error")
    assert b"secret" not in response.content
    assert "secret of the house" in caplog.text
    assert not AircraftType.objects.exists()


@pytest.mark.parametrize(
    ("statement", "status", "code", "words"),
    [
        ("UPDATE fleet_aircrafttype SET seats = 0", 409, "conflict", "aircraft type seats"),
        ("UPDATE fleet_aircrafttype SET designation = NULL", 409, "conflict", "rule"),
        ("UPDATE fleet_aircrafttype SET seats = 99999999999", 422, "invalid", "range"),
        (
            "UPDATE fleet_aircrafttype SET club_id = gen_random_uuid(); SET CONSTRAINTS ALL IMMEDIATE",
            409,
            "conflict",
            "ids",
        ),
        ("INSERT INTO fleet_aircrafttype SELECT * FROM fleet_aircrafttype", 409, "id_taken", "id"),
    ],
)
def test_what_the_database_refuses_is_no_500(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch, statement: str, status: int, code: str, words: str
) -> None:
    monkeypatch.setattr(OutcomeView, "outcome", sql(statement))
    assert words in problem(client_of(pilot).post("/api/v1/outcome"), status, code)["detail"]
    assert not AircraftType.objects.exists()


def test_a_duplicate_is_a_409_in_words(pilot: Membership) -> None:
    client = client_of(pilot)
    client.post(THINGS, {"name": "one"})
    assert "one designation a club" in problem(client.post(THINGS, {"name": "one"}), 409, "conflict")["detail"]


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (Forbidden("a", "b"), 403, "forbidden"),
        (NotFound("a", "b"), 404, "not_found"),
        (Conflict("a", "b"), 409, "conflict"),
        (Invalid("a", "b"), 422, "invalid"),
        (Stale("a", "b"), 412, "stale"),
        (Locked(7), 429, "too_many_requests"),
        (DomainError("a", "b"), 409, "conflict"),
        (DjangoInvalid({"seats": ["Too many."]}), 422, "invalid"),
        (DjangoInvalid("Too many."), 422, "invalid"),
        (Throttled(wait=9), 429, "too_many_requests"),
        (APIException(), 500, "internal_error"),
        (IntegrityError("without a cause"), 409, "conflict"),
        (DataError(), 422, "invalid"),
        (OperationalError(), 503, "unavailable"),
        (SuspiciousOperation(), 400, "malformed"),
        (TooManyFieldsSent(), 413, "too_large"),
        (KeyError("x"), 500, "internal_error"),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, Exception) else None,
)
def test_every_kind_of_exception_has_its_problem(error: Exception, status: int, code: str) -> None:
    problem(_Json(problem_of(error).answer()), status, code)


class _Json:
    """A plain answer with the ``json`` of a test client's."""

    def __init__(self, answer: Any) -> None:
        self.answer = answer
        self.status_code, self.content = answer.status_code, answer.content

    def __getitem__(self, name: str) -> str:
        return str(self.answer[name])

    def json(self) -> Any:
        return json.loads(self.answer.content)


def test_the_precise_code_and_the_present_state_are_told(pilot: Membership) -> None:
    client = client_of(pilot)
    thing = client.post(THINGS, {"name": "one", "seats": 3}).json()
    body = problem(client.post(f"{THINGS}/{thing['id']}/act"), 409, "conflict")
    assert body["code"] == "full"
    assert body["current"] == {"seats": 3}


@pytest.mark.parametrize("error", [OperationalError(), Locked(7), Throttled(wait=9)], ids=["503", "429", "throttled"])
def test_what_passes_by_itself_says_when(error: Exception) -> None:
    assert int(problem_of(error).answer()["Retry-After"]) >= 1


@pytest.mark.parametrize(
    ("detail", "expected"),
    [
        ({"a": ["x"]}, {"/a"}),
        ({"results": [{}, {}, {}, {"measurement": ["x"]}]}, {"/results/3/measurement"}),
        ({"results": {3: {"measurement": ["x"]}}}, {"/results/3/measurement"}),
        ({"non_field_errors": ["x"]}, {""}),
        ({"results": {"non_field_errors": ["x"]}}, {"/results"}),
        (["x"], {""}),
        ({"a/b": {"m~n": ["x"]}}, {"/a~1b/m~0n"}),
        ({"tags": {0: ["x"], 2: ["y"]}}, {"/tags/0", "/tags/2"}),
    ],
)
def test_nested_errors_become_json_pointers(detail: Any, expected: set[str]) -> None:
    """RFC 6901, sections 3 and 4: ``~`` is ``~0`` and ``/`` is ``~1`` in a reference token."""
    assert {error.pointer for error in field_errors(detail)} == expected


def test_an_error_keeps_its_code() -> None:
    assert field_errors({"a": [ErrorDetail("No.", code="why")]}) == (FieldError("/a", "why", "No."),)


def test_a_real_body_gets_pointers_into_it(pilot: Membership) -> None:
    lines = [{"item": "a"}, {"item": "b", "measurement": {"value": "4", "unit": "bar"}}, {"item": "B B"}, 7]
    body = problem(client_of(pilot).post(THINGS, {"name": " ", "results": lines}), 422, "invalid")
    assert set(pointers(body)) == {"/name", "/results/1/measurement/value", "/results/2/item", "/results/3"}


def test_every_type_is_described_where_it_points(pilot: Membership) -> None:
    for one in anonymous().get("/api/v1/problems").json()["results"]:
        described = anonymous().get(one["type"]).json()
        assert described == one
        assert described["meaning"]
        assert described["cure"]
    problem(anonymous().get("/api/v1/problems/nothing"), 404, "not_found")


def test_codes_are_stable() -> None:
    """Part of the API: this list only grows."""
    assert {code: kind.status for code, kind in PROBLEM_TYPES.items()} == {
        "malformed": 400,
        "not_authenticated": 401,
        "forbidden": 403,
        "csrf_failed": 403,
        "not_found": 404,
        "method_not_allowed": 405,
        "not_acceptable": 406,
        "conflict": 409,
        "in_flight": 409,
        "id_taken": 409,
        "stale": 412,
        "too_large": 413,
        "unsupported_media_type": 415,
        "invalid": 422,
        "key_reused": 422,
        "precondition_required": 428,
        "too_many_requests": 429,
        "internal_error": 500,
        "unavailable": 503,
    }


@pytest.mark.parametrize("path", ["/api/v1/x", "/board"])
def test_the_frameworks_own_handlers_tell_apart_api_and_pages(path: str) -> None:
    request = RequestFactory().get(path)
    answers = [
        problems.bad_request(request, SuspiciousOperation()),
        problems.permission_denied(request, PermissionDenied()),
        problems.page_not_found(request, Exception()),
        problems.server_error(request),
        problems.csrf_failure(request),
        problems.lockout(request),
    ]
    from_api = path.startswith("/api/")
    assert {answer["Content-Type"] == PROBLEM_JSON for answer in answers} == {from_api}
    assert [answer.status_code for answer in answers] == [400, 403, 404, 500, 403, 429]


def test_a_host_that_is_not_ours_gets_a_problem() -> None:
    problem(anonymous().get("/api/v1/problems", HTTP_HOST="elsewhere.example"), 400, "malformed")
