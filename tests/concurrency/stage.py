"""Two people at the same instant: two threads with a connection each, and control over who goes first.

``interleave`` stops the first act before a chosen statement, lets the second run until it is done or waits for the first,
and then lets the first go on: with every statement chosen in turn, every schedule with one change of turns is played.
"""

import random
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from typing import Any

from django.db import OperationalError, connection, transaction

from fleet.api.transactions import ATTEMPTS, DEADLOCK_DETECTED, SERIALIZATION_FAILURE, sqlstate
from fleet.errors import DomainError

Act = Callable[[], Any]


@dataclass(frozen=True, slots=True)
class Job:
    """An act of the scheduler, which makes its own transactions."""

    run: Act

    def __call__(self) -> Any:
        return self.run()


PATIENCE = 20.0  # seconds until a thread counts as stuck
WAITS = "SELECT wait_event_type = 'Lock' FROM pg_stat_activity WHERE pid = %s"


@dataclass(slots=True)
class Outcome:
    """How an act ended: its result, or the refusal."""

    result: Any = None
    refusal: DomainError | None = None
    tries: int = 1

    @property
    def done(self) -> bool:
        return self.refusal is None


class Pause:
    """Stops its thread before the statement with this number (the end of the transaction counts as one)."""

    def __init__(self, number: int) -> None:
        self.left, self.reached, self.go_on = number, threading.Event(), threading.Event()

    def step(self) -> None:
        self.left -= 1
        if self.left == 0:
            self.reached.set()
            assert self.go_on.wait(PATIENCE), "nobody let the first act go on"

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.step()
        return execute(sql, params, many, context)


class Jitter:
    """Now and then a moment of rest before a statement."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)  # noqa: S311 - a schedule, not a secret

    def step(self) -> None:
        if self.dice.random() < 0.3:
            time.sleep(self.dice.random() * 0.003)

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.step()
        return execute(sql, params, many, context)


def perform(act: Act, control: Pause | Jitter) -> Outcome:
    """As an edge runs an act: one transaction, tried again when the database asks for it."""
    for attempt in range(1, ATTEMPTS + 1):
        try:
            with _transaction(act), connection.execute_wrapper(control):
                result = act()
                control.step()
            return Outcome(result=result, tries=attempt)
        except DomainError as refusal:
            return Outcome(refusal=refusal, tries=attempt)
        except OperationalError as error:
            if attempt == ATTEMPTS or sqlstate(error) not in {SERIALIZATION_FAILURE, DEADLOCK_DETECTED}:
                raise
    raise AssertionError("the last attempt returns or raises")


def _transaction(act: Act) -> AbstractContextManager[Any]:
    return nullcontext() if isinstance(act, Job) else transaction.atomic()


class Stage:
    """A context: threads and connections live inside."""

    def __init__(self, hands: int = 2) -> None:
        self.hands = [ThreadPoolExecutor(1) for _ in range(hands)]
        self.pids = [hand.submit(_connect).result(PATIENCE) for hand in self.hands]
        self.retries = 0

    def __enter__(self) -> "Stage":
        return self

    def __exit__(self, *_exception: object) -> None:
        for hand in self.hands:
            hand.submit(_disconnect).result(PATIENCE)
            hand.shutdown()

    def interleave(self, first: Act, second: Act, statement: int) -> tuple[Outcome, Outcome] | None:
        """Both outcomes; None if the first act has no such statement, and then only it was done."""
        pause = Pause(statement)
        running = self.hands[0].submit(perform, first, pause)
        while not pause.reached.wait(0.0005):
            if running.done():
                running.result()
                return None
        following = self.hands[1].submit(perform, second, Jitter(0))
        self._until_done_or_waiting(following, self.pids[1])
        pause.go_on.set()
        return self._noted(running.result(PATIENCE)), self._noted(following.result(PATIENCE))

    def at_once(self, *acts: Act, seed: int) -> list[Outcome]:
        """All start together, with moments of rest that the seed decides."""
        gate = threading.Barrier(len(acts))

        def run(act: Act, number: int) -> Outcome:
            gate.wait(PATIENCE)
            return perform(act, Jitter(seed * 100 + number))

        pairs = zip(self.hands, acts, strict=False)
        running = [hand.submit(run, act, number) for number, (hand, act) in enumerate(pairs)]
        return [self._noted(one.result(PATIENCE)) for one in running]

    def _noted(self, outcome: Outcome) -> Outcome:
        self.retries += outcome.tries - 1
        return outcome

    def _until_done_or_waiting(self, following: "Future[Outcome]", pid: int) -> None:
        deadline = time.monotonic() + PATIENCE
        with connection.cursor() as cursor:
            while not following.done() and time.monotonic() < deadline:
                cursor.execute(WAITS, [pid])
                row = cursor.fetchone()
                if row and row[0]:
                    return
                time.sleep(0.0005)


def _disconnect() -> None:
    connection.close()  # of this thread


def _connect() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SET deadlock_timeout = '50ms'")
        cursor.execute("SELECT pg_backend_pid()")
        pid: int = cursor.fetchone()[0]
    return pid
