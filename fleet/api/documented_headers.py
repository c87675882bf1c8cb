"""Headers that the base view reads and writes, as the OpenAPI document shows them."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter

from fleet.api.base import ClubView
from fleet.api.idempotency import HEADER, LONGEST_KEY, REPLAYED
from fleet.api.listing import ListView

TEXT = {"type": "string"}


def request_headers(view: ClubView, method: str, path: str) -> list[OpenApiParameter]:
    """Those that this operation reads."""
    if method == "GET":
        return [_header("If-None-Match", "The ETag that you have; 304 if it is current.")]
    if method == "PATCH":
        return [_header("If-Match", "The ETag that your change is based on.", required=True)]
    if method == "POST" and method not in view.open_methods:
        key = _header(
            HEADER, "Your own key for this request. Sent again, it answers what it answered before.", schema=_KEY
        )
        match = _header("If-Match", "The ETag of the resource that you decide on.")
        return [key, match] if "{" in path else [key]
    return []


_KEY: dict[str, Any] = {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY, "pattern": "^[!-~]+$"}


def _header(name: str, description: str, *, required: bool = False, schema: Any = str) -> OpenApiParameter:
    return OpenApiParameter(name, schema, location=OpenApiParameter.HEADER, required=required, description=description)


def response_headers(view: ClubView, method: str, status: int) -> dict[str, Any]:
    """Those that this answer carries."""
    headers = {}
    if status in {429, 503}:
        headers["Retry-After"] = {"schema": {"type": "integer"}, "description": "Seconds to wait."}
    if status == 201:
        headers["Location"] = {"schema": {"type": "string", "format": "uri-reference"}, "description": "Where it is."}
    if (status == 200 and method in {"GET", "PATCH"}) or status == 201:
        headers["ETag"] = {"schema": TEXT, "description": "Strong validator of the representation."}
    if status == 200 and isinstance(view, ListView) and method == "GET":
        headers["Link"] = {"schema": TEXT, "description": "Next and previous page (RFC 8288)."}
    if status in {200, 201} and method == "POST" and method not in view.open_methods:
        headers[REPLAYED] = {"schema": TEXT, "description": "true: this is the answer to an earlier request."}
    return headers
