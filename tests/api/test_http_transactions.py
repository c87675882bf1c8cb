"""Every unsafe request is one transaction: all or nothing, and again when the database asks for it."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError
from rest_framework.response import Response

from fleet.api.transactions import ATTEMPTS
from fleet.models import AircraftType, Membership
from tests.api.clients import client_of, problem
from tests.api.throwaway import OutcomeView, UploadView, failing, sql
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
OUTCOME = "/api/v1/outcome"


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


@pytest.mark.parametrize("status", [200, 201, 204, 302, 400, 404, 409, 422, 500])
def test_an_answer_from_400_on_undoes_what_was_written(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch, status: int
) -> None:
    monkeypatch.setattr(OutcomeView, "outcome", lambda: Response({}, status=status))
    assert client_of(pilot).post(OUTCOME).status_code == status
    assert AircraftType.objects.exists() == (status < 400)


@pytest.mark.parametrize("sqlstate", ["40001", "40P01"], ids=["serialization failure", "deadlock"])
@pytest.mark.parametrize("times", range(ATTEMPTS + 1))
def test_the_database_may_ask_for_another_attempt(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch, times: int, sqlstate: str
) -> None:
    monkeypatch.setattr(OutcomeView, "outcome", failing(times, sqlstate))
    response = client_of(pilot).post(OUTCOME)
    if times < ATTEMPTS:
        assert response.status_code == 201
        assert AircraftType.objects.count() == 1
    else:
        problem(response, 503, "unavailable")
        assert int(response["Retry-After"]) >= 1
        assert not AircraftType.objects.exists()


def test_other_failures_of_the_database_are_not_tried_again(pilot: Membership, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(OutcomeView, "outcome", failing(1, "57014"))
    problem(client_of(pilot).post(OUTCOME), 503, "unavailable")


@pytest.mark.parametrize("statement", ["SELECT 1/0", "SELECT pg_sleep(60)"])
def test_a_real_refusal_of_the_database_undoes_all(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch, statement: str
) -> None:
    monkeypatch.setattr(OutcomeView, "outcome", sql(f"SET LOCAL statement_timeout = 100; {statement}"))
    assert client_of(pilot).post(OUTCOME).status_code in {422, 503}
    assert not AircraftType.objects.exists()


def test_an_error_that_the_view_swallows_does_not_commit_half(
    pilot: Membership, monkeypatch: pytest.MonkeyPatch
) -> None:
    def swallow() -> Response:
        try:
            sql("SELECT 1/0")()
        except DatabaseError:
            return Response({}, status=201)
        raise AssertionError

    monkeypatch.setattr(OutcomeView, "outcome", swallow)
    response: Any = client_of(pilot).post(OUTCOME)
    assert response.status_code >= 400
    assert not AircraftType.objects.exists()


def test_an_upload_is_read_whole_at_every_attempt(pilot: Membership, monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[int] = []
    busy = failing(2, "40001")

    def post(self: UploadView, request: Any) -> Response:
        sizes.append(len(request.data["file"].read()))
        return busy()

    monkeypatch.setattr(UploadView, "post", post)
    sent = {"file": SimpleUploadedFile("photo.jpg", b"abc")}
    assert client_of(pilot).post("/api/v1/uploads", sent, format="multipart").status_code == 201
    assert sizes == [3, 3, 3]
