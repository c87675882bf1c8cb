"""Goals R2 and R3 with real threads and connections: many at once, one effect.

``HTTP_SCHEDULES`` (default 12) sets how many random schedules are played; 1000 on demand.
"""

import os
import random
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import pytest
from django.db import close_old_connections, connection

from fleet.models import AircraftType, IdempotencyRecord, Membership
from tests.api.clients import client_of, problem
from tests.api.throwaway import ThingsView, make, shown
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"
SCHEDULES = int(os.environ.get("HTTP_SCHEDULES", "12"))
AT_ONCE = 6


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Acts take long enough to overlap."""

    def post(self: ThingsView, request: Any) -> Any:
        sent = self.validated()
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_sleep(0.02)")
        thing = make(self, sent["name"], **({"id": sent["id"]} if "id" in sent else {}))
        return self.created(shown(thing), f"{THINGS}/{thing.pk}")

    monkeypatch.setattr(ThingsView, "post", post)


def at_once(acts: list[Callable[[], Any]]) -> list[Any]:
    """Runs all in threads that start together; every thread closes its connection."""
    gate = threading.Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        gate.wait()
        try:
            return act()
        finally:
            close_old_connections()
            connection.close()

    with ThreadPoolExecutor(len(acts)) as threads:
        return list(threads.map(run, acts))


def until_answered(member: Membership, body: dict[str, Any], key: str | None, seed: int) -> Callable[[], Any]:
    """A program that sends again while the service says that it is still working."""
    client, dice = client_of(member), random.Random(seed)  # noqa: S311
    headers: dict[str, Any] = {} if key is None else {"HTTP_IDEMPOTENCY_KEY": key}

    def act() -> Any:
        for _ in range(200):
            threading.Event().wait(dice.random() * 0.03)
            response = client.post(THINGS, body, **headers)
            if response.status_code != 409:
                return response
            problem(response, 409, "in_flight")
            assert int(response["Retry-After"]) >= 1
        raise AssertionError("never answered")

    return act


@pytest.mark.usefixtures("slow")
@pytest.mark.parametrize("seed", range(SCHEDULES))
def test_r2_one_key_one_effect_one_answer(pilot: Membership, seed: int) -> None:
    key, body = f"key {seed}", {"name": f"thing {seed}"}
    responses = at_once([until_answered(pilot, body, key, seed * 100 + number) for number in range(AT_ONCE)])
    assert {response.status_code for response in responses} == {201}
    assert len({response.content for response in responses}) == 1
    assert sum("Idempotency-Replayed" not in response for response in responses) == 1
    assert AircraftType.objects.count() == 1
    assert IdempotencyRecord.objects.count() == 1


@pytest.mark.usefixtures("slow")
@pytest.mark.parametrize("seed", range(SCHEDULES))
def test_r2_one_id_one_effect_one_answer(pilot: Membership, seed: int) -> None:
    """A duplicate waits for the first and answers the same; also from another member, and with keys of its own."""
    other = MemberFactory.create(club=pilot.club)
    body = {"id": str(uuid4()), "name": f"thing {seed}"}
    responses = at_once(
        [
            until_answered(
                pilot if number % 2 else other, body, f"{number}" if number % 3 else None, seed * 100 + number
            )
            for number in range(AT_ONCE)
        ]
    )
    assert sorted(response.status_code for response in responses) == [200] * (AT_ONCE - 1) + [201]
    assert len({response.content for response in responses}) == 1
    assert AircraftType.objects.count() == 1


@pytest.mark.usefixtures("slow")
def test_one_id_with_different_contents_has_one_winner(pilot: Membership) -> None:
    own = str(uuid4())
    clients = [client_of(pilot) for _ in range(AT_ONCE)]

    def sending(number: int) -> Callable[[], Any]:
        return lambda: clients[number].post(THINGS, {"id": own, "name": f"thing {number}"})

    responses = at_once([sending(number) for number in range(AT_ONCE)])
    assert sorted(response.status_code for response in responses) == [201] + [409] * (AT_ONCE - 1)
    winner = next(response for response in responses if response.status_code == 201)
    assert AircraftType.objects.get().designation == winner.json()["name"]


@pytest.mark.usefixtures("slow")
def test_one_id_in_two_clubs_has_one_winner(pilot: Membership) -> None:
    own = str(uuid4())
    clients = [client_of(pilot), client_of(MemberFactory.create())]

    def sending(number: int) -> Callable[[], Any]:
        return lambda: clients[number].post(THINGS, {"id": own, "name": "thing"})

    responses = at_once([sending(0), sending(1)])
    assert sorted(response.status_code for response in responses) == [201, 409]
    assert AircraftType.objects.count() == 1


def test_a_key_in_flight_is_refused_without_waiting(pilot: Membership, monkeypatch: pytest.MonkeyPatch) -> None:
    inside, go_on = threading.Event(), threading.Event()

    def post(self: ThingsView, request: Any) -> Any:
        inside.set()
        assert go_on.wait(20)
        return self.created(shown(make(self, "one")), THINGS)

    monkeypatch.setattr(ThingsView, "post", post)
    first, second = client_of(pilot), client_of(pilot)

    def then_second() -> Any:
        assert inside.wait(20)
        try:
            return second.post(THINGS, {"name": "one"}, HTTP_IDEMPOTENCY_KEY="k")
        finally:
            go_on.set()

    answers = at_once([lambda: first.post(THINGS, {"name": "one"}, HTTP_IDEMPOTENCY_KEY="k"), then_second])
    assert answers[0].status_code == 201
    problem(answers[1], 409, "in_flight")
    assert AircraftType.objects.count() == 1


@pytest.mark.parametrize("round_", range(max(1, SCHEDULES // 4)))
def test_r3_one_version_one_change(pilot: Membership, round_: int) -> None:
    made = client_of(pilot).post(THINGS, {"name": f"thing {round_}", "seats": 1})
    clients = [client_of(pilot) for _ in range(AT_ONCE)]

    def changing(number: int) -> Callable[[], Any]:
        return lambda: clients[number].patch(made["Location"], {"seats": number + 2}, HTTP_IF_MATCH=made["ETag"])

    responses = at_once([changing(number) for number in range(AT_ONCE)])
    assert sorted(response.status_code for response in responses) == [200] + [412] * (AT_ONCE - 1)
    winner = next(response for response in responses if response.status_code == 200)
    assert AircraftType.objects.get().seats == winner.json()["seats"]
