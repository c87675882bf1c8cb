"""Programs that write without pause, send again what was not answered, and remember every answer."""

import http.client
import json
import random
import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

API = "/api/v1"
TIMEOUT = 10.0
REPLAYED = "Idempotency-Replayed"


@dataclass(frozen=True, slots=True)
class Order:
    """One request as often as it takes. Its key is also a text in its body, so that the record tells of it."""

    key: str
    token: str
    path: str
    body: Mapping[str, Any]

    def send(self, connection: http.client.HTTPConnection) -> tuple[int, bytes, bool]:
        """Status, body, and whether the answer was a kept one. Raises OSError and HTTPException when there is none."""
        headers = {
            "Authorization": f"Bearer {self.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": self.key,
        }
        connection.request("POST", self.path, json.dumps(self.body), headers)
        response = connection.getresponse()
        return response.status, response.read(), response.getheader(REPLAYED) == "true"


@dataclass(slots=True)
class Ledger:
    """What was answered. Shared by the programs of one run."""

    answered: list[tuple[Order, int, bytes]] = field(default_factory=list)
    refused: list[tuple[Order, int, bytes]] = field(default_factory=list)
    tries_lost: int = 0  # requests without an answer
    done_unanswered: int = 0  # of which had been done, as the answer to the next try said

    def note(self, order: Order, status: int, body: bytes) -> None:
        (self.answered if status < 300 else self.refused).append((order, status, body))


def _now() -> str:
    return datetime.now(UTC).isoformat()


class Writer(threading.Thread):
    """One program: reports a defect and leads it through every act to its release, and writes other things in between."""

    def __init__(self, number: int, port: int, told: Mapping[str, Any], ledger: Ledger, over: threading.Event) -> None:
        super().__init__(daemon=True)
        self.port, self.told, self.ledger, self.over = port, told, ledger, over
        self.dice = random.Random(number)  # noqa: S311 - a schedule, not a secret
        self.connection = self._connect()

    def run(self) -> None:
        while not self.over.is_set():
            for order in self._orders():
                self._until_answered(order)
                if self.over.is_set():
                    break

    def _connect(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=TIMEOUT)

    def _until_answered(self, order: Order) -> None:
        lost = False
        while True:
            try:
                status, body, kept = order.send(self.connection)
            except (OSError, http.client.HTTPException):
                status, body, kept = 503, b"", False
                self.connection.close()
                self.connection = self._connect()
            if status < 500 and not (status == 409 and b"in_flight" in body):
                break
            lost = True
            self.ledger.tries_lost += 1
            time.sleep(0.1 + self.dice.random() * 0.2)
        self.ledger.done_unanswered += lost and kept
        self.ledger.note(order, status, body)

    def _orders(self) -> Iterator[Order]:
        aircraft = self.dice.choice(self.told["aircraft"])
        yield self._occurrence(aircraft) if self.dice.random() < 0.3 else self._inspection(aircraft)
        defect_id = str(uuid4())
        yield self._report(aircraft, defect_id)
        yield self._act(defect_id, "triage", "inspector", "justification", assessment="hazard")
        yield self._act(defect_id, "rectify", "inspector", "work_done", data_used="Manual", performed_at=_now())
        yield self._act(defect_id, "independent-inspection", "other inspector", "remark", outcome="accepted")
        password = self.told["password"]
        yield self._act(defect_id, "release", "inspector", "references", password=password, statement_accepted=True)

    def _order(self, who: str, path: str, text: str, **body: Any) -> Order:
        key = str(uuid4())
        return Order(key, self.told[who], f"{API}/{path}", {**body, text: f"text {key}"})

    def _report(self, aircraft: str, defect_id: str) -> Order:
        item = self.dice.choice(self.told["lines"])
        return self._order(
            "pilot", "defects", "description", id=defect_id, aircraft=aircraft, item=item, found_at=_now()
        )

    def _occurrence(self, aircraft: str) -> Order:
        return self._order("pilot", "occurrences", "description", aircraft=aircraft, kind="hail", occurred_at=_now())

    def _act(self, defect_id: str, act: str, who: str, text: str, **body: Any) -> Order:
        measured = [{"quantity": "pressure", "value": 3.2, "unit": "bar"}] if act == "rectify" else None
        more = {"measurements": measured} if measured else {}
        return self._order(who, f"defects/{defect_id}/{act}", text, **body, **more)

    def _inspection(self, aircraft: str) -> Order:
        key = str(uuid4())
        results = [{"item": code, "outcome": "not_checked", "remark": f"text {key}"} for code in self.told["lines"][:1]]
        body = {"aircraft": aircraft, "kind": "daily", "started_at": _now(), "completed_at": _now(), "results": results}
        return Order(key, self.told["pilot"], f"{API}/inspections", body)
