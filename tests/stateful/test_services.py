"""R4 and R5: no sequence of acts shows an aircraft with an open grounding fact as serviceable, and what is stored is so."""

import logging
import time
from collections import Counter

import pytest
from hypothesis.stateful import run_state_machine_as_test

from tests.stateful.profiles import EXAMPLES, profile
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


def test_every_sequence_of_acts_keeps_the_invariants() -> None:
    Watched.world = build()
    Watched.tally, began = Counter(), time.process_time()
    for app in ("fleet", "defects", "inspections"):
        logging.getLogger(app).addHandler(Watched.complaints)
    try:
        run_state_machine_as_test(TimeActs, settings=profile())
    finally:
        print(f"{Watched.tally['checked']} checks, {time.process_time() - began:.0f} s of CPU")  # noqa: T201 - pytest -s
        print(dict(sorted(Watched.tally.items())))  # noqa: T201
        for app in ("fleet", "defects", "inspections"):
            logging.getLogger(app).removeHandler(Watched.complaints)
    seldom = {name: Watched.tally[name] for name in DONE if Watched.tally[name] < EXAMPLES / 20}
    assert not seldom, f"too seldom to mean anything: {seldom}"
    assert not [name for name in REFUSED if not Watched.tally[f"{name} refused"]]
