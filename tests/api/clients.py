"""Programs and pages that talk to the API in tests."""

from typing import Any

from django.utils import timezone
from rest_framework.test import APIClient

from fleet.models import Membership
from fleet.services import access

PROBLEM_JSON = "application/problem+json"


def client_of(member: Membership) -> APIClient:
    """A program with a bearer token of this member. An unexpected error is answered, not raised."""
    _token, secret = access.issue_token(by=member, name="test", at=timezone.now())
    return client_with(secret)


def client_with(secret: str) -> APIClient:
    """A program with this bearer token."""
    client = anonymous()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


def anonymous() -> APIClient:
    """A program without credentials."""
    return APIClient(raise_request_exception=False)


def problem(response: Any, status: int, code: str) -> dict[str, Any]:
    """The body of a refusal, after checking that it is the documented problem that was expected."""
    assert response.status_code == status, response.content
    assert response["Content-Type"] == PROBLEM_JSON
    body: dict[str, Any] = response.json()
    assert body["status"] == status
    assert body["type"] == f"/api/v1/problems/{code}"
    assert body["title"]
    assert body["detail"]
    return body


def pointers(body: dict[str, Any]) -> dict[str, str]:
    """Pointer -> code of a problem's errors."""
    return {error["pointer"]: error["code"] for error in body["errors"]}
