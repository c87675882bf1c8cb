"""R4 and R5: no sequence of acts shows an aircraft with an open grounding fact as serviceable, and what is stored is so."""

import logging
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from hypothesis.stateful import run_state_machine_as_test

from tests.stateful.profiles import EXAMPLES, PROFILE, profile
from tests.stateful.time_acts import TimeActs
from tests.stateful.watch import Watched
from tests.stateful.world import build

pytestmark = pytest.mark.django_db(transaction=True)

DONE = (  # acts that a run must have done often, so that what holds does not hold for want of acts
    "report", "triage", "defer", "withdraw", "rectify", "inspect independently", "release", "critical released",
    "daily complete", "daily incomplete", "after_rigging complete", "unscheduled complete", "rig", "occurrence",
    "add document", "change document", "change item", "change settings", "change member", "expire deferrals",
)  # fmt: skip
REFUSED = (
    "report",
    "triage",
    "defer",
    "withdraw",
    "rectify",
    "inspect independently",
    "release",
    "inspection",
    "change item",
)


@contextmanager
def listening() -> Iterator[None]:
    """What the service logs as an error is a complaint; the figures are printed at the end (pytest -s)."""
    began = time.process_time()
    logging.disable(logging.WARNING)
    loggers = [logging.getLogger(name) for name in ("fleet", "defects", "inspections", "config")]
    for logger in loggers:
        logger.addHandler(Watched.complaints)
    try:
        yield
    finally:
        logging.disable(logging.NOTSET)
        for logger in loggers:
            logger.removeHandler(Watched.complaints)
        print(f"{Watched.tally['checked']} checks, {time.process_time() - began:.0f} s of CPU")  # noqa: T201
        print(dict(sorted(Watched.tally.items())))  # noqa: T201


def test_every_sequence_of_acts_keeps_the_invariants() -> None:
    Watched.world, Watched.tally = build(), Counter()
    with listening():
        run_state_machine_as_test(TimeActs, settings=profile())
    if PROFILE == "quick":
        return
    seldom = {name: Watched.tally[name] for name in DONE if Watched.tally[name] < EXAMPLES / 20}
    assert not seldom, f"too seldom to mean anything: {seldom}"
    assert not [name for name in REFUSED if not Watched.tally[f"{name} refused"]]
