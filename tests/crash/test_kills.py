"""R1: web workers, PostgreSQL and the jobs are killed in turn while a dozen programs write.

Nothing that was answered is lost, nothing is done twice, no chain breaks and no verdict differs. ``KILLS`` (default 10);
200 on demand.
"""

import http.client
import os
import random
import threading
import time
from collections import Counter
from itertools import cycle, islice
from typing import Any

import pytest
from celery import Celery

from tests.crash.clients import Ledger, Writer
from tests.crash.house import NUDGED, House, nudging, open_house
from tests.infrastructure.ports import free_port
from tests.services.plugin import folder_of_this_process

KILLS = int(os.environ.get("KILLS", "10"))
WRITERS = 12
VICTIMS = ("web worker", "PostgreSQL", "jobs")
BETWEEN = 25  # answers at least between two kills
PATIENCE = 60.0


def kill_in_turn(house: House, ledger: Ledger, nudge: Celery) -> None:
    """Each victim once it has been working for a while."""
    dice = random.Random(KILLS)  # noqa: S311 - a schedule, not a secret
    for victim in islice(cycle(VICTIMS), KILLS):
        wanted, deadline = len(ledger.answered) + BETWEEN, time.monotonic() + PATIENCE
        until = time.monotonic() + dice.random()
        while time.monotonic() < until or len(ledger.answered) < wanted:
            assert time.monotonic() < deadline, f"nothing is answered any more, after {len(ledger.answered)} answers"
            house.tend()
            nudge.send_task(dice.choice(NUDGED))
            time.sleep(0.2)
        house.kill(victim)


def replay(house: House, ledger: Ledger) -> Counter[str]:
    """Every answered request once more, with its key: how the answers compare."""
    connection, seen = http.client.HTTPConnection("127.0.0.1", house.port, timeout=30), Counter[str]()
    for order, status, body in ledger.answered:
        answer = order.send(connection)
        seen["the same" if answer == (status, body, True) else f"{answer[0]} {answer[1][:200]!r}"] += 1
    return seen


def test_nothing_answered_is_lost_and_nothing_is_done_twice(capsys: pytest.CaptureFixture[str]) -> None:
    folder = folder_of_this_process() / "k"
    folder.mkdir(mode=0o711)
    with open_house(folder, free_port()) as (house, told):
        ledger, over = Ledger(), threading.Event()
        writers = [Writer(number, house.port, told, ledger, over) for number in range(WRITERS)]
        for writer in writers:
            writer.start()
        kill_in_turn(house, ledger, nudging(folder))
        over.set()
        wait_for(writers, house)
        check(house, ledger, capsys)


def wait_for(writers: list[Writer], house: House) -> None:
    deadline = time.monotonic() + PATIENCE
    while any(writer.is_alive() for writer in writers):
        assert time.monotonic() < deadline, "some requests are never answered"
        house.tend()
        time.sleep(0.05)


def check(house: House, ledger: Ledger, capsys: pytest.CaptureFixture[str]) -> None:
    house.wait_until_well()
    keys = [order.key for order, _status, _body in ledger.answered]
    before = house.audit(keys)
    replayed = replay(house, ledger)
    after = house.audit(keys)
    with capsys.disabled():
        print(  # noqa: T201 - the figures of the goal
            f"\n{KILLS} kills: {len(keys)} answered, {ledger.tries_lost} tries unanswered, "
            f"{ledger.done_unanswered} of which had been done; {before['rows']}"
        )
    assert not ledger.refused, ledger.refused[:3]
    check_records(before)
    check_records(after)
    assert replayed == {"the same": len(keys)}
    assert (after["rows"], after["effects"]) == (before["rows"], before["effects"]), "a replay was done again"
    assert len(keys) >= BETWEEN * KILLS


def check_records(told: dict[str, Any]) -> None:
    counted = Counter(told["effects"].values())
    assert set(counted) == {1}, f"effects of answered requests (0: lost, 2: doubled): {counted}"
    assert not told["broken"]
    assert not told["differing"]
    assert told["numbered"]
