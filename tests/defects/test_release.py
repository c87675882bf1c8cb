"""Release to service: what is signed, that its hash can be worked out again, and that a released defect stays closed."""

import hashlib
import json
from typing import Any

import orjson
import pytest

from defects.lifecycle import DEFER, INSPECT_INDEPENDENTLY, RECTIFY, RELEASE, TRIAGE, Act, State
from defects.models import Defect, Release
from defects.services.statement import STATEMENT
from fleet.errors import Conflict, DomainError, Forbidden, Invalid
from fleet.models import Aircraft, Event
from tests.defects.attempts import LATER, attempt, free_inspector
from tests.factories import (
    CRITICAL,
    NOW,
    PLAIN,
    InspectorFactory,
    deferred,
    fresh,
    inspected,
    make_aircraft,
    no_defect,
    rectified,
    released,
    reported,
)
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


def sign(defect: Defect, **changes: Any) -> tuple[Any, Release]:
    acted, signed = attempt(RELEASE, defect, by=free_inspector(defect.aircraft), **changes)
    return acted, signed


@pytest.mark.parametrize(
    ("sent", "refused", "code"),
    [
        ({"reauthenticated": False}, Forbidden, "reauthentication"),
        ({"reauthenticated": False, "statement_accepted": False}, Forbidden, "reauthentication"),
        ({"statement_accepted": False}, Invalid, "invalid"),
    ],
)
def test_a_release_is_signed_by_who_is_there_and_means_it(
    aircraft: Aircraft, sent: dict[str, Any], refused: type[DomainError], code: str
) -> None:
    defect, by = inspected(aircraft), free_inspector(aircraft)
    with unchanged(), pytest.raises(refused) as refusal:
        attempt(RELEASE, defect, by=by, **sent)
    assert refusal.value.code == code


@pytest.mark.parametrize(
    ("critical", "check", "refused"),
    [
        (True, None, True),
        (True, "accepted", False),
        (False, None, False),
        (False, "accepted", False),
    ],
)
def test_critical_work_is_released_only_after_an_accepted_independent_inspection(
    aircraft: Aircraft, critical: bool, check: str | None, refused: bool
) -> None:
    defect = inspected(aircraft, critical=critical) if check else rectified(aircraft, critical=critical)
    by = free_inspector(aircraft)
    if refused:
        with unchanged(), pytest.raises(Conflict) as refusal:
            attempt(RELEASE, defect, by=by)
        assert refusal.value.code == "independent_inspection_missing"
        return
    acted, _signed = attempt(RELEASE, defect, by=by)
    assert (acted.defect.state, effects_of(acted)) == (State.RELEASED, {})


@pytest.mark.parametrize("critical_then", [True, False])
def test_critical_when_worked_on_or_critical_now_needs_the_second_pair_of_eyes(
    aircraft: Aircraft, critical_then: bool
) -> None:
    defect = rectified(aircraft, critical=critical_then)
    aircraft.aircraft_type.items.filter(code__in=[CRITICAL, PLAIN]).update(critical=not critical_then, deferrable=False)
    by = free_inspector(aircraft)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(RELEASE, defect, by=by)
    assert refusal.value.code == "independent_inspection_missing"


def test_work_on_an_unclassified_defect_is_not_released(aircraft: Aircraft) -> None:
    defect, by = inspected(aircraft, item_code=None), free_inspector(aircraft)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(RELEASE, defect, by=by)
    assert refusal.value.code == "unclassified"


def test_what_is_signed(aircraft: Aircraft) -> None:
    defect = inspected(aircraft, critical=True, description="Pin worn")
    other = deferred(aircraft, at=NOW.replace(minute=10), description="Tape lifts")
    by = InspectorFactory.create(club=aircraft.club, full_name="Ada Invented")
    _acted, signed = attempt(RELEASE, defect, by=by, references="Work order 7")
    authorisation = by.authorisations.get()
    assert (signed.released_by, signed.released_at, signed.printed_name) == (by, LATER, "Ada Invented")
    assert (signed.authorisation, signed.licence_number) == (authorisation, authorisation.licence_number)
    assert (signed.statement, signed.references) == (STATEMENT, "Work order 7")
    work, check = defect.rectification, Defect.objects.get(id=defect.id).rectification
    assert work is not None
    assert check is not None
    told = json.loads(signed.record)
    assert told["aircraft"] == {
        "registration": aircraft.registration,
        "type": aircraft.aircraft_type.designation,
        "serial_number": aircraft.serial_number,
        "total_minutes": None,
    }
    assert told["defect"] == {"id": str(defect.id), "number": 1, "description": "Pin worn", "item": CRITICAL}
    assert told["work"] == {
        "description": "Repaired.",
        "data_used": "Maintenance manual, chapter 4",
        "parts": [],
        "measurements": [],
        "performed_by": work.performed_by.person.full_name,
        "supervised_by": work.supervised_by.person.full_name,
        "completed_at": "2025-05-14T09:03:00Z",
    }
    assert told["independent_inspection"] == {
        "inspected_by": check.independent_inspection.inspected_by.person.full_name,
        "inspected_at": "2025-05-14T09:04:00Z",
        "outcome": "accepted",
        "remark": "Checked.",
    }
    assert told["not_done"] == [{"number": other.number, "description": "Tape lifts", "limitations": ["no aerobatics"]}]
    assert told["statement"] == STATEMENT
    assert told["references"] == "Work order 7"
    assert told["signature"] == {
        "member": str(by.id),
        "printed_name": "Ada Invented",
        "licence_number": authorisation.licence_number,
        "authorisation": str(authorisation.id),
        "authorisation_valid_until": "2090-12-31",
        "signed_at": "2025-05-14T10:00:00Z",
        "meaning": "release to service",
    }


def test_the_hash_can_be_worked_out_again_from_the_stored_text(aircraft: Aircraft) -> None:
    _acted, signed = sign(inspected(aircraft))
    stored = Release.objects.get(id=signed.id)
    assert stored.record_hash == hashlib.sha256(stored.record.encode()).hexdigest()
    again = orjson.dumps(json.loads(stored.record), option=orjson.OPT_SORT_KEYS).decode()
    assert again == stored.record  # one spelling for one content
    (event,) = Event.objects.filter(kind="defect_release")
    assert json.loads(event.canonical)["data"]["record_hash"] == stored.record_hash


def test_a_release_is_never_changed(aircraft: Aircraft) -> None:
    _acted, signed = sign(inspected(aircraft))
    signed.printed_name = "Somebody Else"
    with pytest.raises(Exception, match="Cannot update"):
        signed.save()


@pytest.mark.parametrize("act", [TRIAGE, DEFER, RECTIFY, INSPECT_INDEPENDENTLY, RELEASE], ids=lambda act: act.code)
def test_a_released_defect_never_reopens(aircraft: Aircraft, act: Act) -> None:
    defect, by = released(aircraft), free_inspector(aircraft)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(act, defect, by=by)
    assert refusal.value.current == {"state": "released"}


@pytest.mark.parametrize("led", [released, no_defect])
def test_a_new_defect_names_the_closed_one_that_it_takes_up(aircraft: Aircraft, led: Any) -> None:
    old = led(aircraft)
    new = reported(aircraft, at=LATER, follows=old.id)
    assert (new.follows_id, new.number, new.state) == (old.id, 2, State.REPORTED)
    assert Defect.objects.get(id=old.id).state == old.state
    assert fresh(aircraft).airworthiness.status == "limited"


@pytest.mark.parametrize("whose", ["open", "another aircraft's"])
def test_only_a_closed_defect_of_the_aircraft_is_taken_up(aircraft: Aircraft, whose: str) -> None:
    old = reported(aircraft) if whose == "open" else released(make_aircraft(aircraft.club))
    with unchanged(), pytest.raises(Invalid) as refusal:
        reported(aircraft, at=LATER, follows=old.id)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/follows", "not_closed")]
