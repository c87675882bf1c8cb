"""Everything that the act table says an act needs: without it the act is refused, at the right place, and nothing changes."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
import time_machine

from defects.lifecycle import ACTS, EXPIRE, State
from defects.models import Defect
from defects.services import upkeep
from fleet.models import Aircraft
from tests.api.clients import client_of, pointers
from tests.defects.attempts import IN_STATE, LATER, free_inspector
from tests.factories import (
    MEASURED,
    PASSWORD,
    assessed,
    deferred,
    rectified,
)
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

ABSENT = object()
OF_THE_EDGE = ("fleet_apitoken", "fleet_idempotencyrecord", "fleet_person")  # written by signing in, not by the act

GOOD: dict[str, dict[str, Any]] = {
    "triage": {"assessment": "no_hazard", "justification": "Looked at it."},
    "defer": {
        "until_date": "2025-05-20",
        "limitations": ["no aerobatics"],
        "basis": "club defect policy",
        "justification": "No influence on strength.",
    },
    "withdraw-deferral": {"justification": "It has grown."},
    "rectify": {
        "work_done": "Taped anew.",
        "data_used": "Maintenance manual issue 2",
        "performed_at": LATER.isoformat(),
    },
    "independent-inspection": {"outcome": "accepted", "remark": "Sound."},
    "release": {"password": PASSWORD, "statement_accepted": True},
}
FROM = {
    "triage": State.REPORTED,
    "defer": State.ASSESSED,
    "withdraw-deferral": State.DEFERRED,
    "rectify": State.ASSESSED,
    "independent-inspection": State.RECTIFIED,
    "release": State.RECTIFIED,
}


@dataclass(frozen=True, kw_only=True)
class Want:
    """One thing that is wanting, and how it is refused."""

    need: str
    status: int = 422
    pointers: dict[str, str] = field(default_factory=dict)  # pointer -> code
    code: str = ""  # of the problem type
    changes: dict[str, Any] = field(default_factory=dict)
    defect: Callable[[Aircraft], Defect] | None = None  # where it is the defect that is not as it should be


def blank(need: str, name: str, act: str) -> list[tuple[str, Want]]:
    """A text left out, and the same of blanks only."""
    return [
        (act, Want(need=need, pointers={f"/{name}": "required"}, changes={name: ABSENT})),
        (act, Want(need=need, pointers={f"/{name}": "blank"}, changes={name: " \t"})),
    ]


def hazard(aircraft: Aircraft) -> Defect:
    return assessed(aircraft, assessment="hazard")


def unclassified(aircraft: Aircraft) -> Defect:
    return assessed(aircraft, item_code=None)


def critical(aircraft: Aircraft) -> Defect:
    return assessed(aircraft, critical=True)


def not_deferrable(aircraft: Aircraft) -> Defect:
    aircraft.aircraft_type.items.filter(code=MEASURED).update(deferrable=False)
    return assessed(aircraft, item_code=MEASURED)


def measured(aircraft: Aircraft) -> Defect:
    return assessed(aircraft, item_code=MEASURED)


def critical_work(aircraft: Aircraft) -> Defect:
    return rectified(aircraft, critical=True)


PRESSURE = {"quantity": "pressure", "value": 3.3, "unit": "bar"}
DEMANDED = "the measurement that the item demands, inside its limits"
DEFERRABLE = "a deferrable, non-critical item"
CHECKED = "on a critical item: an accepted independent inspection"

WANTS: list[tuple[str, Want]] = [
    ("triage", Want(need="assessment", pointers={"/assessment": "required"}, changes={"assessment": ABSENT})),
    ("triage", Want(need="assessment", pointers={"/assessment": "invalid_choice"}, changes={"assessment": "fine"})),
    *blank("justification", "justification", "triage"),
    ("defer", Want(need="assessed as no hazard", status=409, code="hazard", defect=hazard)),
    ("defer", Want(need=DEFERRABLE, status=409, code="not_deferrable", defect=critical)),
    ("defer", Want(need=DEFERRABLE, status=409, code="not_deferrable", defect=not_deferrable)),
    ("defer", Want(need=DEFERRABLE, status=409, code="unclassified", defect=unclassified)),
    ("defer", Want(need="a limit", pointers={"/until_date": "limit_missing"}, changes={"until_date": ABSENT})),
    ("defer", Want(need="a limit", pointers={"/until_date": "limit_missing"}, changes={"until_date": None})),
    ("defer", Want(need="a limit", pointers={"/until_date": "in_past"}, changes={"until_date": "2025-05-13"})),
    ("defer", Want(need="limitations", pointers={"/limitations": "required"}, changes={"limitations": ABSENT})),
    ("defer", Want(need="limitations", pointers={"/limitations": "min_length"}, changes={"limitations": []})),
    ("defer", Want(need="limitations", pointers={"/limitations/0": "blank"}, changes={"limitations": [" "]})),
    *blank("basis", "basis", "defer"),
    *blank("justification", "justification", "defer"),
    *blank("justification", "justification", "withdraw-deferral"),
    *blank("work done", "work_done", "rectify"),
    *blank("data used", "data_used", "rectify"),
    ("rectify", Want(need="when", pointers={"/performed_at": "required"}, changes={"performed_at": ABSENT})),
    ("rectify", Want(need=DEMANDED, pointers={"/measurements": "measurement_missing"}, defect=measured)),
    (
        "rectify",
        Want(
            need=DEMANDED,
            pointers={"/measurements/0/value": "outside_limits"},
            changes={"measurements": [PRESSURE | {"value": 2.9}]},
            defect=measured,
        ),
    ),
    (
        "rectify",
        Want(
            need=DEMANDED,
            pointers={"/measurements/0/unit": "unit"},
            changes={"measurements": [PRESSURE | {"unit": "kg"}]},
            defect=measured,
        ),
    ),
    (
        "independent-inspection",
        Want(need="outcome", pointers={"/outcome": "required"}, changes={"outcome": ABSENT}),
    ),
    *blank("remark", "remark", "independent-inspection"),
    ("release", Want(need="password again", pointers={"/password": "required"}, changes={"password": ABSENT})),
    ("release", Want(need="password again", status=403, code="reauthentication", changes={"password": "not it"})),
    (
        "release",
        Want(
            need="statement accepted",
            pointers={"/statement_accepted": "not_accepted"},
            changes={"statement_accepted": False},
        ),
    ),
    (
        "release",
        Want(
            need="statement accepted",
            pointers={"/statement_accepted": "required"},
            changes={"statement_accepted": ABSENT},
        ),
    ),
    ("release", Want(need=CHECKED, status=409, code="independent_inspection_missing", defect=critical_work)),
]


def body_of(act: str, changes: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in (GOOD[act] | changes).items() if value is not ABSENT}


def test_every_need_of_the_table_has_a_case() -> None:
    of_the_table = {(act.code, need) for act in ACTS for need in act.needs if act.by}
    assert {(act, want.need) for act, want in WANTS} == of_the_table


@pytest.mark.parametrize("act", GOOD)
def test_with_everything_it_needs_an_act_is_taken(aircraft: Aircraft, act: str) -> None:
    defect = IN_STATE[FROM[act]](aircraft)
    with time_machine.travel(LATER, tick=False):
        answer = client_of(free_inspector(aircraft)).post(f"/api/v1/defects/{defect.id}/{act}", body_of(act, {}))
    assert answer.status_code == 201, answer.content


@pytest.mark.parametrize(("act", "want"), WANTS, ids=[f"{act}: {want.need}" for act, want in WANTS])
def test_without_what_it_needs_an_act_is_refused_and_changes_nothing(aircraft: Aircraft, act: str, want: Want) -> None:
    defect = (want.defect or IN_STATE[FROM[act]])(aircraft)
    with time_machine.travel(LATER, tick=False):
        client = client_of(free_inspector(aircraft))
        with unchanged(besides=OF_THE_EDGE):
            answer = client.post(f"/api/v1/defects/{defect.id}/{act}", body_of(act, want.changes))
    body = answer.json()
    assert (answer.status_code, body["code"]) == (want.status, want.code or "invalid"), body
    assert pointers({"errors": ()} | body) == want.pointers


@pytest.mark.parametrize("days", [0, 10])
def test_a_deferral_ends_by_itself_only_when_a_limit_has_passed(aircraft: Aircraft, days: int) -> None:
    assert EXPIRE.needs == ("a limit has passed",)
    defect = deferred(aircraft, days=10)
    with unchanged():
        assert upkeep.expire_deferrals(LATER.replace(day=LATER.day + days, hour=21, minute=59)) == 0
    assert upkeep.expire_deferrals(LATER.replace(day=LATER.day + 10, hour=22, minute=0)) == 1
    assert Defect.objects.get(id=defect.id).state == State.ASSESSED
