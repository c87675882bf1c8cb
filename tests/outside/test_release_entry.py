"""The release entry, against the fields that ML.A.801(e)/803(d) and 14 CFR 43.9 and 43.11 require."""

import json
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, transaction

from defects.lifecycle import INSPECT_INDEPENDENTLY, RECTIFY, RELEASE
from defects.models import Rectification, Release
from fleet.errors import DomainError, Forbidden
from fleet.models import Aircraft, Role
from tests.api.clients import client_of, pointers
from tests.defects.attempts import LATER, attempt
from tests.factories import (
    CRITICAL,
    NOW,
    InspectorFactory,
    MemberFactory,
    assessed,
    authorise,
    deferred,
    inspected,
    rectified,
)
from tests.fleet.rows import release_row
from tests.outside.conftest import Everybody
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

# Rows of the table of required fields: ML.A.801(e)/803(d), 14 CFR 43.9(a), 43.11(a). Row 7 (total time in service)
# waits for usage; row 12 (statement of a programme) for the programme.
REQUIRED: dict[str, tuple[str, ...]] = {
    "1 description of the work": ("work", "description"),
    "2 maintenance data used": ("work", "data_used"),
    "3 date of completion": ("work", "completed_at"),
    "4 name of who did the work": ("work", "performed_by"),
    "5 identity": ("signature", "printed_name"),
    "5 signature": ("signature", "signed_at"),
    "6 licence number": ("signature", "licence_number"),
    "8 result": ("statement",),
    "9 and 10 limitations, deferred items": ("not_done", "0", "limitations"),
    "11 independent inspection, item": ("defect", "item"),
    "11 independent inspection, person": ("independent_inspection", "inspected_by"),
    # demanded by an Australian rule and by a Belgian form (read)
    "registration mark": ("aircraft", "registration"),
    "type": ("aircraft", "type"),
    "serial number": ("aircraft", "serial_number"),
    "validity of the licence": ("signature", "authorisation_valid_until"),
}


def at_path(told: Any, path: tuple[str, ...]) -> Any:
    for step in path:
        told = told[int(step)] if isinstance(told, list) else told[step]
    return told


@pytest.fixture
def entry(aircraft: Aircraft) -> Any:
    """A release of critical work on an aircraft that flies on with another, deferred defect."""
    deferred(aircraft, at=NOW)
    defect = inspected(aircraft, at=NOW.replace(minute=20), critical=True)
    _acted, signed = attempt(RELEASE, defect, by=InspectorFactory.create(club=aircraft.club))
    return json.loads(signed.record)


@pytest.mark.parametrize("what", REQUIRED)
def test_a_required_field_is_there(entry: Any, what: str) -> None:
    assert at_path(entry, REQUIRED[what])


def test_the_words_identify_it_as_a_release_to_service(entry: Any) -> None:
    # Demanded by an Australian rule (read).
    assert "release to service" in entry["statement"]
    assert entry["signature"]["meaning"] == "release to service"


@pytest.mark.parametrize("what", ["data_used", "performed_at", "work_done"])
def test_work_without_data_date_or_description_is_rejected(aircraft: Aircraft, everybody: Everybody, what: str) -> None:
    # Check value T70 and the test line of section 7: ML.A.801/803 (read in part).
    defect = assessed(aircraft)
    body = {"work_done": "Taped.", "data_used": "Manual issue 2", "performed_at": LATER.isoformat()}
    with time_machine.travel(LATER, tick=False):
        answer = client_of(everybody[Role.INSPECTOR]).post(
            f"/api/v1/defects/{defect.id}/rectify", {name: value for name, value in body.items() if name != what}
        )
    assert answer.status_code == 422
    assert list(pointers(answer.json())) == [f"/{what}"]
    assert not Rectification.objects.exists()


def test_without_a_licence_number_nothing_is_signed(aircraft: Aircraft) -> None:
    # Check value T70: ML.A.801/803 (read in part).
    defect = rectified(aircraft)
    bare = InspectorFactory.create(club=aircraft.club, authorised=False)
    with unchanged(), pytest.raises(Forbidden) as refusal:
        attempt(RELEASE, defect, by=bare)
    assert refusal.value.code == "authorisation"
    with pytest.raises(IntegrityError, match="authorisation_has_licence"), transaction.atomic():
        authorise(bare, licence_number=" ")
    with pytest.raises(IntegrityError, match="release_signed"), transaction.atomic():
        Release(**release_row() | {"licence_number": ""}).save(force_insert=True)


@pytest.mark.parametrize("who", ["performer", "supervisor", "second person"])
def test_a_critical_task_is_not_inspected_by_who_did_it(aircraft: Aircraft, who: str) -> None:
    # Check value T28 and DI-8: AMC 145.A.48(b) (read in part); the single-person re-inspection is not offered.
    people = {
        name: InspectorFactory.create(club=aircraft.club) for name in ("performer", "supervisor", "second person")
    }
    defect = assessed(aircraft, critical=True)
    named: dict[str, Any] = {"performed_by": people["performer"].id, "supervised_by": people["supervisor"].id}
    attempt(RECTIFY, defect, by=people["performer"], **named)
    if who == "second person":
        attempt(INSPECT_INDEPENDENTLY, defect, by=people[who])
        acted, _signed = attempt(RELEASE, defect, by=people["performer"])
        assert acted.verdict.status.code == "serviceable"
        return
    with unchanged(), pytest.raises(DomainError) as refusal:
        attempt(INSPECT_INDEPENDENTLY, defect, by=people[who])
    assert refusal.value.code == "not_independent"
    with unchanged(), pytest.raises(DomainError):
        attempt(RELEASE, defect, by=people["performer"])


def test_a_disturbed_system_is_inspected_anew(aircraft: Aircraft) -> None:
    # DI-8, test line: disturbed after both inspections -> both void (CAP 562, from memory, reproduced).
    first = inspected(aircraft, item_code=CRITICAL)
    attempt(RELEASE, first, by=InspectorFactory.create(club=aircraft.club))
    again = rectified(aircraft, at=LATER, item_code=CRITICAL)
    by = InspectorFactory.create(club=aircraft.club)
    with unchanged(), pytest.raises(DomainError) as refusal:
        attempt(RELEASE, again, by=by, at=LATER.replace(hour=11))
    assert refusal.value.code == "independent_inspection_missing"


@pytest.mark.parametrize("role", [Role.PILOT, Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR])
def test_a_member_who_is_no_inspector_signs_no_release(aircraft: Aircraft, role: Role) -> None:
    # ML-803-1, test line: a member who is not on the list of those entitled (M.A.803(a), read).
    defect = rectified(aircraft)
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    authorise(member)
    with unchanged(), pytest.raises(Forbidden):
        attempt(RELEASE, defect, by=member)
