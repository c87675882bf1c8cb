"""Two people act at the same instant: in every order of their statements nothing is lost and at most one wins what only one may.

``CONCURRENCY=all`` stops the first act at every statement (CI: at every sixth, beginning elsewhere for each pair).
"""

import os
from collections.abc import Iterator
from itertools import count
from zlib import crc32

import pytest

from tests.concurrency.cast import Cast, check
from tests.concurrency.job_pairs import JOBS
from tests.concurrency.pairs import ON_DEFECTS, ON_THE_FLEET
from tests.concurrency.stage import Outcome, Stage

pytestmark = pytest.mark.django_db(transaction=True)
PAIRS = {**ON_DEFECTS, **ON_THE_FLEET, **JOBS}
STRIDE = 1 if os.environ.get("CONCURRENCY") == "all" else 6
TURNS = ({False, True}, {False, True}) if STRIDE == 1 else ({False}, {True})
ROUNDS = 40 if STRIDE == 1 else 1
MOST_STATEMENTS = 100


@pytest.fixture(autouse=True)
def _no_complaints(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """A job that fails logs it and goes on."""
    yield
    assert not [record.getMessage() for record in caplog.records if record.levelname == "ERROR"]


def check_winners(name: str, outcomes: tuple[Outcome, Outcome]) -> None:
    won = (outcomes[0].done, outcomes[1].done)
    refusals = [outcome.refusal and outcome.refusal.code for outcome in outcomes]
    assert won in PAIRS[name].may_win, refusals


@pytest.mark.parametrize("name", PAIRS)
def test_one_stops_in_the_middle(name: str) -> None:
    """Now the first of the two, now the second."""
    cast, beyond = Cast(), set[bool]()
    with Stage() as stage:
        for statement in count(1 + crc32(name.encode()) % STRIDE, STRIDE):
            for turned in TURNS[statement // STRIDE % 2] - beyond:
                first, second = PAIRS[name].prepare(cast)
                outcomes = stage.interleave(*((second, first) if turned else (first, second)), statement)
                if outcomes is None:
                    beyond.add(turned)
                else:
                    check_winners(name, (outcomes[1], outcomes[0]) if turned else outcomes)
                check(cast)
                cast.next_round()
            if beyond == {False, True}:
                break
            assert statement < MOST_STATEMENTS
    assert statement > 10, "it was never stopped in the middle"


@pytest.mark.parametrize("name", PAIRS)
def test_both_at_once(name: str) -> None:
    cast = Cast()
    with Stage() as stage:
        for number in range(ROUNDS):
            first, second = stage.at_once(*PAIRS[name].prepare(cast), seed=number)
            check_winners(name, (first, second))
            check(cast)
            cast.next_round()
