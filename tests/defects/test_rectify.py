"""Rectification: who answers for the work, and the measurements that the item demands."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest

from defects.lifecycle import RECTIFY, State
from defects.models import Rectification
from fleet.errors import DomainError, Forbidden, Invalid
from fleet.models import Aircraft, Club, Membership, Role
from tests.defects.attempts import LATER, attempt
from tests.factories import (
    MEASURED,
    NOW,
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    assessed,
    deferred,
)
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew(club: Club) -> dict[str, Membership]:
    return {
        "pilot": MemberFactory.create(club=club),
        "officer": MemberFactory.create(club=club, roles=[Role.TECHNICAL_OFFICER]),
        "inspector": InspectorFactory.create(club=club),
        "other": InspectorFactory.create(club=club),
    }


@pytest.mark.parametrize(
    ("by", "performed_by", "supervised_by", "answers"),
    [
        ("inspector", None, None, "inspector"),
        ("inspector", "pilot", None, "inspector"),  # whoever puts it down answers for it
        ("inspector", "other", None, "other"),
        ("inspector", "pilot", "other", "other"),
        ("pilot", None, "inspector", "inspector"),
        ("pilot", "inspector", None, "inspector"),
        ("officer", "pilot", "inspector", "inspector"),
        ("pilot", None, None, None),
        ("officer", "pilot", None, None),
        ("officer", None, None, None),
    ],
)
def test_an_inspector_answers_for_the_work(
    aircraft: Aircraft,
    crew: dict[str, Membership],
    by: str,
    performed_by: str | None,
    supervised_by: str | None,
    answers: str | None,
) -> None:
    defect = assessed(aircraft)
    named: dict[str, Any] = {
        "performed_by": performed_by and crew[performed_by].id,
        "supervised_by": supervised_by and crew[supervised_by].id,
    }
    if answers is None:
        with unchanged(), pytest.raises(Forbidden) as refusal:
            attempt(RECTIFY, defect, by=crew[by], **named)
        assert refusal.value.code == "supervision"
        return
    attempt(RECTIFY, defect, by=crew[by], **named)
    work = Rectification.objects.get(defect=defect)
    assert (work.recorded_by, work.performed_by, work.supervised_by) == (
        crew[by],
        crew[performed_by or by],
        crew[answers],
    )


@pytest.mark.parametrize("by", ["pilot", "inspector"])
def test_a_supervisor_who_is_no_inspector_is_refused(aircraft: Aircraft, crew: dict[str, Membership], by: str) -> None:
    defect = assessed(aircraft)
    with unchanged(), pytest.raises(Invalid) as refusal:
        attempt(RECTIFY, defect, by=crew[by], supervised_by=crew["officer"].id)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/supervised_by", "not_an_inspector")]


def of_another_club() -> UUID:
    return InspectorFactory.create(club=ClubFactory.create()).id


@pytest.mark.parametrize("whose", [of_another_club, uuid4])
@pytest.mark.parametrize("name", ["performed_by", "supervised_by"])
def test_people_of_the_work_are_members(
    aircraft: Aircraft, crew: dict[str, Membership], name: str, whose: Callable[[], UUID]
) -> None:
    defect = assessed(aircraft)
    named: dict[str, Any] = {name: whose()}
    with unchanged(), pytest.raises(Invalid) as refusal:
        attempt(RECTIFY, defect, by=crew["inspector"], **named)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(f"/{name}", "unknown_member")]


@pytest.mark.parametrize("name", ["performed_by", "supervised_by"])
def test_a_member_who_has_left_did_not_do_it(aircraft: Aircraft, crew: dict[str, Membership], name: str) -> None:
    defect, gone = assessed(aircraft), crew["other"]
    gone.active = False
    gone.save()
    named: dict[str, Any] = {name: gone.id}
    with unchanged(), pytest.raises(Invalid):
        attempt(RECTIFY, defect, by=crew["inspector"], **named)


@pytest.mark.parametrize(
    ("performed_at", "code"),
    [
        (NOW - timedelta(seconds=1), "out_of_order"),  # before the defect was found
        (LATER + timedelta(minutes=5, seconds=1), "in_future"),
    ],
)
def test_the_work_was_done_after_the_finding_and_before_now(
    aircraft: Aircraft, crew: dict[str, Membership], performed_at: Any, code: str
) -> None:
    defect = assessed(aircraft)
    with unchanged(), pytest.raises(Invalid) as refusal:
        attempt(RECTIFY, defect, by=crew["inspector"], performed_at=performed_at)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/performed_at", code)]


def pressure(value: str, unit: str = "bar", **limits: str) -> dict[str, Any]:
    numbers = {name: Decimal(limit) for name, limit in limits.items()}
    return {"quantity": "pressure", "value": Decimal(value), "unit": unit, **numbers}


DEPTH = {"quantity": "tread depth", "value": Decimal("1.5"), "unit": "mm", "minimum": Decimal(1)}


@pytest.mark.parametrize(
    ("measurements", "fault"),
    [
        ([], ("/measurements", "measurement_missing")),
        ([DEPTH], ("/measurements", "measurement_missing")),
        ([pressure("3.0")], None),  # the item's limits, 3.0 to 3.6 bar, belong to it
        ([pressure("3.6")], None),
        ([pressure("2.9999")], ("/measurements/0/value", "outside_limits")),
        ([pressure("3.6001")], ("/measurements/0/value", "outside_limits")),
        ([pressure("300", "kPa")], None),
        ([pressure("299", "kPa")], ("/measurements/0/value", "outside_limits")),
        ([pressure("46", "[psi]")], None),  # 3.17 bar: 1 psi = 6894.757 Pa, NIST SP 811
        ([pressure("43.5", "[psi]")], ("/measurements/0/value", "outside_limits")),  # 2.9992 bar
        ([pressure("3.2", "mm")], ("/measurements/0/unit", "unit")),
        ([pressure("3.2", "atm")], ("/measurements/0/unit", "unit")),
        ([DEPTH, pressure("3.2")], None),
        ([DEPTH | {"value": Decimal("0.9")}, pressure("3.2")], ("/measurements/0/value", "outside_limits")),
        ([pressure("3.2", minimum="3.3")], ("/measurements/0/value", "outside_limits")),  # the data's own limit
        ([pressure("3.5", maximum="3.4")], ("/measurements/0/value", "outside_limits")),
        ([pressure("2.5", minimum="2.0")], ("/measurements/0/value", "outside_limits")),  # wider ones do not help
        ([pressure("NaN")], ("/measurements/0/value", "outside_limits")),
    ],
)
def test_the_work_is_done_when_what_the_item_demands_is_measured_inside_its_limits(
    aircraft: Aircraft,
    crew: dict[str, Membership],
    measurements: list[dict[str, Any]],
    fault: tuple[str, str] | None,
) -> None:
    defect = assessed(aircraft, item_code=MEASURED)
    if fault is None:
        acted = attempt(RECTIFY, defect, by=crew["inspector"], measurements=measurements)
        assert acted.defect.state == State.RECTIFIED
        return
    with unchanged(), pytest.raises(DomainError) as refusal:
        attempt(RECTIFY, defect, by=crew["inspector"], measurements=measurements)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [fault]


@pytest.mark.parametrize(
    ("found", "on_critical"), [({}, False), ({"critical": True}, True), ({"item_code": None}, True)]
)
def test_work_on_an_unknown_item_counts_as_work_on_a_critical_one(
    aircraft: Aircraft, crew: dict[str, Membership], found: dict[str, Any], on_critical: bool
) -> None:
    acted = attempt(RECTIFY, assessed(aircraft, **found), by=crew["inspector"])
    assert Rectification.objects.get().on_critical_item is on_critical
    effects = effects_of(acted)
    assert effects["rectification_unreleased"] == "grounds"
    assert ("independent_inspection_missing" in effects) is on_critical


def test_work_is_recorded_with_its_data_parts_and_measurements(aircraft: Aircraft, crew: dict[str, Membership]) -> None:
    parts = [{"name": "tape", "part_number": "T-12"}]
    attempt(RECTIFY, deferred(aircraft), by=crew["inspector"], parts=parts, measurements=[DEPTH])
    work = Rectification.objects.get()
    assert work.parts == parts
    assert work.measurements == [{"quantity": "tread depth", "value": "1.5", "unit": "mm", "minimum": "1"}]
    assert (work.recorded_at, work.performed_at) == (LATER, LATER)
