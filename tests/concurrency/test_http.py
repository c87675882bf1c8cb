"""R2 and R3 through the whole HTTP layer and on the real endpoints: duplicates in any order, and one version changed by many.

``SCHEDULES`` (default 60) random schedules of R2; 1000 on demand.
"""

import os
import random
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from fleet import events
from fleet.models import Document, Event, Item, Role
from tests.api.clients import client_of
from tests.api.test_http_concurrency import at_once
from tests.concurrency.cast import Cast
from tests.factories import CRITICAL, PLAIN, assessed, reported

pytestmark = pytest.mark.django_db(transaction=True)
SCHEDULES = int(os.environ.get("SCHEDULES", "60"))
BATCH = 20  # schedules on one scene
KEY, REPLAYED = "HTTP_IDEMPOTENCY_KEY", "Idempotency-Replayed"
API = "/api/v1"
Sent = tuple[str, dict[str, Any]]


def _now() -> str:
    return timezone.now().isoformat()


def _report(cast: Cast) -> Sent:
    return f"{API}/defects", {
        "aircraft": str(cast.aircraft.id),
        "item": CRITICAL,
        "description": "x",
        "found_at": _now(),
    }


def _rigging(cast: Cast) -> Sent:
    return f"{API}/rigging-events", {"aircraft": str(cast.aircraft.id), "kind": "rigged", "occurred_at": _now()}


def _occurrence(cast: Cast) -> Sent:
    body = {"aircraft": str(cast.aircraft.id), "kind": "hail", "occurred_at": _now(), "description": "Dents."}
    return f"{API}/occurrences", body


def _document(cast: Cast) -> Sent:
    return f"{API}/documents", {"aircraft": str(cast.aircraft.id), "kind": "insurance", "issued_on": "2025-01-01"}


def _inspection(cast: Cast) -> Sent:
    found = {"item": PLAIN, "outcome": "defect", "defect": {"description": "Loose."}}
    times = {"started_at": _now(), "completed_at": _now()}
    return f"{API}/inspections", {"aircraft": str(cast.aircraft.id), "kind": "daily", **times, "results": [found]}


def _triage(cast: Cast) -> Sent:
    defect = reported(cast.aircraft, at=timezone.now())
    return f"{API}/defects/{defect.id}/triage", {"assessment": "no_hazard", "justification": "x"}


CREATE = (_report, _rigging, _occurrence, _document, _inspection)


class Schedule:
    """One request that arrives several times: at once, one after the other, with answers that are lost."""

    def __init__(self, cast: Cast, seed: int) -> None:
        self.dice = random.Random(seed)  # noqa: S311 - a schedule, not a secret
        self.path, self.body = self.dice.choice([*CREATE, _triage])(cast)
        by_id = not self.path.endswith("/triage") and self.dice.random() < 0.5
        if by_id:
            self.body["id"] = str(uuid4())
        self.key = None if by_id and self.dice.random() < 0.3 else f"key {seed}"
        self.waves = [self.dice.randint(1, 3) for _ in range(self.dice.randint(1, 3))]
        self.sender = cast.by(Role.TECHNICAL_OFFICER)

    def send(self, client: APIClient) -> Any:
        """Until the service no longer says that it is still working."""
        headers: dict[str, Any] = {} if self.key is None else {KEY: self.key}
        for _ in range(200):
            answer = client.post(self.path, self.body, format="json", **headers)
            if answer.status_code != 409 or answer.json()["type"] != f"{API}/problems/in_flight":
                return answer
            time.sleep(0.005)
        raise AssertionError("never answered")

    def play(self) -> list[Any]:
        """Every answer, also those that a client would have lost."""
        answers = []
        for at_a_time in self.waves:
            answers += at_once(
                [_later(self.send, client_of(self.sender), self.dice.random() * 0.01) for _ in range(at_a_time)]
            )
        return answers


def _later(send: Callable[[APIClient], Any], client: APIClient, seconds: float) -> Callable[[], Any]:
    def act() -> Any:
        time.sleep(seconds)
        return send(client)

    return act


@pytest.mark.parametrize("first", range(0, SCHEDULES, BATCH))
def test_one_effect_and_one_answer(first: int) -> None:
    cast = Cast()
    for seed in range(first, min(first + BATCH, SCHEDULES)):
        schedule = Schedule(cast, seed)
        before = Event.objects.exclude(kind="airworthiness_changed").count()
        answers = schedule.play()
        assert {answer.status_code for answer in answers} <= {200, 201}, [answer.content for answer in answers]
        assert len({answer.content for answer in answers}) == 1
        assert sum(REPLAYED not in answer for answer in answers) == 1
        effects = Event.objects.exclude(kind="airworthiness_changed").count() - before
        assert effects == (2 if schedule.path.endswith("/inspections") else 1)
        if schedule.key is not None:
            _refuses_other_content(schedule)
    assert events.verify(cast.club).valid


def _refuses_other_content(schedule: Schedule) -> None:
    before = Event.objects.count()
    other = schedule.body | ({"justification": "y"} if "justification" in schedule.body else {"aircraft": str(uuid4())})
    headers: dict[str, Any] = {KEY: schedule.key}
    answer = client_of(schedule.sender).post(schedule.path, other, format="json", **headers)
    assert answer.status_code == 422, answer.content
    assert answer.json()["type"] == f"{API}/problems/key_reused"
    assert Event.objects.count() == before


AT_ONCE = 5


def _changes(cast: Cast, number: int) -> dict[str, tuple[str, str, list[dict[str, Any]]]]:
    """By what is changed: whose act it is, the address, and a different change for each of the rivals."""
    document = Document.objects.filter(aircraft=cast.aircraft).order_by("kind")[0]
    item = Item.objects.get(aircraft_type=cast.aircraft.aircraft_type, code=PLAIN)
    of_type = f"{API}/aircraft-types/{cast.aircraft.aircraft_type_id}"
    numbers = range(AT_ONCE * number + 1, AT_ONCE * (number + 1) + 1)  # never the same twice: that would be no change
    officer, administrator = Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR
    return {
        "document": (officer, f"{API}/documents/{document.id}", [{"reference": f"no. {n}"} for n in numbers]),
        "aircraft": (officer, f"{API}/aircraft/{cast.aircraft.id}", [{"base": f"field {n}"} for n in numbers]),
        "item": (officer, f"{of_type}/items/{item.id}", [{"title": f"Tape {n}"} for n in numbers]),
        "type": (officer, of_type, [{"seats": n + 2} for n in numbers]),
        "club": (administrator, f"{API}/club", [{"settings": {"triage_limit_days": n + 5}} for n in numbers]),
        "member": (
            administrator,
            f"{API}/members/{cast.by(Role.PILOT).id}",
            [{"full_name": f"No. {n}"} for n in numbers],
        ),
    }


@pytest.mark.parametrize("what", ["document", "aircraft", "item", "type", "club", "member"])
def test_one_version_is_changed_once(what: str) -> None:
    cast = Cast()
    for number in range(3):
        role, path, changes = _changes(cast, number)[what]
        clients = [client_of(cast.by(role)) for _ in changes]
        tag, before = clients[0].get(path)["ETag"], Event.objects.filter(aircraft=None).count()
        rivals = [_patch(client, path, change, tag) for client, change in zip(clients, changes, strict=True)]
        answers = at_once(rivals)
        assert sorted(answer.status_code for answer in answers) == [200] + [412] * (AT_ONCE - 1), [
            a.content for a in answers
        ]
        winner = next(answer for answer in answers if answer.status_code == 200)
        now = clients[0].get(path)
        told = {name: value for name, value in winner.json().items() if name != "airworthiness"}
        assert now.json() == told
        assert Event.objects.filter(aircraft=None).count() - before <= 1
    assert events.verify(cast.club).valid


def _patch(client: APIClient, path: str, change: dict[str, Any], tag: str) -> Callable[[], Any]:
    return lambda: client.patch(path, change, format="json", HTTP_IF_MATCH=tag)


def test_one_version_of_a_defect_is_acted_on_once() -> None:
    cast = Cast()
    defect = assessed(cast.aircraft, at=timezone.now() - timedelta(minutes=10))
    client = client_of(cast.by(Role.INSPECTOR))
    path = f"{API}/defects/{defect.id}"
    tag = client.get(path)["ETag"]
    body = {"assessment": "hazard", "justification": "x"}
    acts = [
        lambda: client_of(cast.by(Role.INSPECTOR)).post(f"{path}/triage", body, format="json", HTTP_IF_MATCH=tag)
        for _ in range(AT_ONCE)
    ]
    assert sorted(answer.status_code for answer in at_once(acts)) == [201] + [412] * (AT_ONCE - 1)
