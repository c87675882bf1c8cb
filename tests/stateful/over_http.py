"""The same acts as requests: JSON in, problem documents out, every answer checked against what a look shows."""

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from rest_framework.test import APIClient

from fleet.errors import DomainError
from fleet.models import Item, Membership
from inspections.services.lines import Sent
from tests.factories import PASSWORD
from tests.stateful.ways import Recorded, Services

API = "/api/v1"
PATHS = {"withdraw": "withdraw-deferral", "inspect": "independent-inspection"}
NAMES = {"item_code": "item", "aircraft_id": "aircraft", "defect_id": "id", "occurrence_id": "id", "sheet_id": "sheet"}


class Refused(DomainError):
    """A problem document."""


def plain(value: Any) -> Any:
    """In JSON types, as a program would send it."""
    if isinstance(value, (UUID, date, datetime)):
        return value.isoformat() if isinstance(value, date) else str(value)
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Mapping):
        return {name: plain(one) for name, one in value.items()}
    return [plain(one) for one in value] if isinstance(value, (list, tuple)) else value


def body_of(said: Mapping[str, Any]) -> dict[str, Any]:
    """Without what is not said."""
    return {NAMES.get(name, name): plain(value) for name, value in said.items() if value not in (None, "")}


def read(response: Any) -> Any:
    """The body of a success. Raises Refused for a documented problem; anything else is a fault of the service."""
    body = response.json()
    if response.status_code < 300:
        return body
    assert 400 <= response.status_code < 500, (response.status_code, body)
    assert response["Content-Type"] == "application/problem+json"
    assert body["status"] == response.status_code
    raise Refused(body["code"] if "code" in body else body["type"], body["detail"])


class OverHttp(Services):
    """Sends with the members' tokens. ``clock`` is what the service reads as its time."""

    def __init__(self, tokens: Mapping[UUID, str]) -> None:
        self.tokens, self.clock = tokens, datetime.min.replace(tzinfo=UTC)
        self.client = APIClient(raise_request_exception=False)

    def now(self) -> datetime:
        return self.clock

    def request(self, by: Membership, at: datetime, method: str, path: str, body: Any = None, **headers: Any) -> Any:
        self.clock = at
        headers["HTTP_AUTHORIZATION"] = f"Bearer {self.tokens[by.id]}"
        send: Callable[..., Any] = getattr(self.client, method)
        return (
            send(f"{API}/{path}", body, format="json", **headers)
            if body is not None
            else send(f"{API}/{path}", **headers)
        )

    def post(self, by: Membership, at: datetime, path: str, said: Mapping[str, Any]) -> Any:
        return read(self.request(by, at, "post", path, body_of(said)))

    def patch(self, by: Membership, at: datetime, path: str, changes: Mapping[str, Any]) -> Any:
        """Reads it first, for its version."""
        found = self.request(by, at, "get", path)
        read(found)
        return read(self.request(by, at, "patch", path, plain(changes), HTTP_IF_MATCH=found["ETag"]))

    def report(self, by: Membership, at: datetime, **said: Any) -> object:
        return self.post(by, at, "defects", said)

    def act_on_defect(self, name: str, by: Membership, at: datetime, **said: Any) -> object:
        path = f"defects/{said.pop('defect_id')}/{PATHS.get(name, name)}"
        if name == "release":
            said["password"] = PASSWORD if said.pop("reauthenticated") else "not the password"
        return self.post(by, at, path, said)

    def inspect(self, by: Membership, at: datetime, **said: Any) -> Recorded:
        said["occurrence"] = said.pop("occurrence_id")
        said["results"] = [_result(one) for one in said["results"]]
        done = self.post(by, at, "inspections", said)
        raised = [(UUID(one["defect"]), one["item"]) for one in done["results"] if one["defect"]]
        assert {str(defect_id) for defect_id, _code in raised} == set(done["defects"])
        assert done["complete"] == (not done["missing"])
        return Recorded(done["complete"], tuple(raised))

    def rig(self, by: Membership, at: datetime, **said: Any) -> object:
        return self.post(by, at, "rigging-events", said)

    def occur(self, by: Membership, at: datetime, **said: Any) -> object:
        return self.post(by, at, "occurrences", said)

    def add_document(self, by: Membership, at: datetime, **said: Any) -> UUID:
        return UUID(self.post(by, at, "documents", said)["id"])

    def change_document(self, by: Membership, at: datetime, document_id: UUID, changes: dict[str, Any]) -> object:
        return self.patch(by, at, f"documents/{document_id}", changes)

    def change_item(self, by: Membership, at: datetime, type_id: UUID, code: str, changes: dict[str, Any]) -> object:
        item = Item.objects.get(aircraft_type_id=type_id, code=code)
        return self.patch(by, at, f"aircraft-types/{type_id}/items/{item.id}", changes)

    def change_settings(self, by: Membership, at: datetime, changes: dict[str, Any]) -> object:
        return self.patch(by, at, "club", {"settings": changes})

    def change_member(self, by: Membership, at: datetime, member_id: UUID, changes: dict[str, Any]) -> object:
        return self.patch(by, at, f"members/{member_id}", changes)

    def end_authorisation(self, by: Membership, at: datetime, authorisation_id: UUID) -> object:
        return self.patch(by, at, f"authorisations/{authorisation_id}", {"revoked": True})


def _result(sent: Sent) -> dict[str, Any]:
    result: dict[str, Any] = {"item": sent.item, "outcome": sent.outcome}
    if sent.value is not None:
        result["measurement"] = {"value": sent.value, "unit": sent.unit}
    return result
