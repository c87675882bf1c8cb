"""Occurrences: each grounds until an inspector's complete unscheduled inspection that began after it answers it."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from fleet.errors import Forbidden, Invalid, NotFound
from fleet.models import Aircraft, Event, Membership, Privilege, Role
from inspections.models import InspectionKind, Occurrence, OccurrenceKind
from inspections.services import events
from tests.factories import (
    CRITICAL,
    NOW,
    PLAIN,
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    authorise,
    make_aircraft,
)
from tests.inspections.walks import LENGTH, rules, walk
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
LATER = NOW + timedelta(hours=1)
UNSCHEDULED = InspectionKind.UNSCHEDULED


def happened(aircraft: Aircraft, by: Membership, **sent: Any) -> Occurrence:
    """An occurrence that is told at ``NOW``."""
    given: dict[str, Any] = {
        "kind": "ground_loop",
        "occurred_at": NOW,
        "description": "Swung round.",
        "at": NOW,
    }
    occurrence, _verdict = events.report_occurrence(aircraft_id=aircraft.id, by=by, **given | sent)
    return occurrence


def grounded_by_it(aircraft: Aircraft) -> bool:
    return "unscheduled_inspection_due" in rules(aircraft, LATER)


@pytest.mark.parametrize("kind", OccurrenceKind)
def test_every_kind_grounds_with_or_without_visible_damage(aircraft: Aircraft, pilot: Membership, kind: str) -> None:
    occurrence = happened(aircraft, pilot, kind=kind)
    assert grounded_by_it(aircraft)
    assert occurrence.report_due_at == NOW + timedelta(hours=72)
    assert Event.objects.filter(kind="occurrence_report", subject_id=occurrence.id).count() == 1


def test_an_inspectors_complete_unscheduled_inspection_answers_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership
) -> None:
    occurrence = happened(aircraft, pilot)
    walk(aircraft, by=inspector, second=second, at=LATER, kind=UNSCHEDULED, occurrence_id=occurrence.id)
    assert not grounded_by_it(aircraft)


def test_it_is_answered_though_the_inspection_finds_something_which_then_grounds(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership
) -> None:
    occurrence = happened(aircraft, pilot)
    found = {CRITICAL: {"outcome": "defect"}}
    walk(
        aircraft,
        by=inspector,
        second=second,
        at=LATER,
        kind=UNSCHEDULED,
        occurrence_id=occurrence.id,
        changes=found,
    )
    assert rules(aircraft, LATER) == {"critical_item_defect"}


@pytest.mark.parametrize("what", ["names none", "incomplete", "names another"])
def test_what_does_not_answer_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership, what: str
) -> None:
    occurrence = happened(aircraft, pilot)
    cases: dict[str, dict[str, Any]] = {
        "names none": {},
        "incomplete": {"occurrence_id": occurrence.id, "changes": {PLAIN: None}},
        "names another": {"occurrence_id": happened(aircraft, pilot).id},
    }
    walk(aircraft, by=inspector, second=second, at=LATER, kind=UNSCHEDULED, **cases[what])
    assert grounded_by_it(aircraft)


@pytest.mark.parametrize("who", ["pilot", "officer", "unauthorised", "other privilege"])
def test_nobody_but_an_authorised_inspector_answers_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, officer: Membership, who: str
) -> None:
    occurrence = happened(aircraft, pilot)
    bare = InspectorFactory.create(club=aircraft.club, authorised=False)
    if who == "other privilege":
        authorise(bare, privileges=[Privilege.INDEPENDENT_INSPECTION])
    by = {"pilot": pilot, "officer": officer}.get(who, bare)
    with unchanged(), pytest.raises(Forbidden) as refusal:
        walk(aircraft, by=by, second=second, at=LATER, kind=UNSCHEDULED, occurrence_id=occurrence.id)
    assert refusal.value.code == ("role" if who in ("pilot", "officer") else "authorisation")


@pytest.mark.parametrize("kind", [InspectionKind.DAILY, InspectionKind.AFTER_RIGGING])
def test_no_other_kind_of_inspection_names_an_occurrence(
    aircraft: Aircraft, pilot: Membership, second: Membership, kind: InspectionKind
) -> None:
    occurrence = happened(aircraft, pilot)
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=pilot, second=second, at=LATER, kind=kind, occurrence_id=occurrence.id)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/occurrence", "wrong_kind")]


def test_an_inspection_that_began_before_does_not_answer_it(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership
) -> None:
    occurrence = happened(aircraft, pilot)
    answer: dict[str, Any] = {"kind": UNSCHEDULED, "occurrence_id": occurrence.id, "at": LATER}
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=inspector, second=second, started_at=NOW - MINUTE, **answer)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/started_at", "out_of_order")]
    walk(aircraft, by=inspector, second=second, started_at=NOW, **answer)
    assert not grounded_by_it(aircraft)


@pytest.mark.parametrize("whose", ["nobody's", "another aircraft's"])
def test_only_an_occurrence_of_this_aircraft_is_answered(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership, whose: str
) -> None:
    named = uuid4()
    if whose != "nobody's":
        named = happened(make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type), pilot).id
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=inspector, second=second, at=LATER, kind=UNSCHEDULED, occurrence_id=named)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/occurrence", "unknown_occurrence")]


def test_several_occurrences_are_answered_one_by_one(
    aircraft: Aircraft, pilot: Membership, second: Membership, inspector: Membership
) -> None:
    both = [happened(aircraft, pilot), happened(aircraft, pilot, kind="lightning")]
    for number, occurrence in enumerate(both, start=1):
        assert grounded_by_it(aircraft)
        at = NOW + number * LENGTH
        walk(aircraft, by=inspector, second=second, at=at, kind=UNSCHEDULED, occurrence_id=occurrence.id)
    assert not grounded_by_it(aircraft)


@pytest.mark.parametrize("role", Role)
def test_any_member_reports_an_occurrence_but_an_auditor(aircraft: Aircraft, role: Role) -> None:
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    if role != Role.AUDITOR:
        assert happened(aircraft, member).reported_by == member
        return
    with unchanged(), pytest.raises(Forbidden):
        happened(aircraft, member)


def test_an_occurrence_to_come_is_refused(aircraft: Aircraft, pilot: Membership) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        happened(aircraft, pilot, occurred_at=NOW + 6 * MINUTE)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/occurred_at", "in_future")]


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    with unchanged(), taken_back(), pytest.raises(NotFound):
        happened(aircraft, MemberFactory.create(club=ClubFactory.create()))
