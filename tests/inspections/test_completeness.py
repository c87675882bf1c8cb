"""When an inspection is complete. An incomplete one is kept, says what is missing and clears nothing."""

from typing import Any

import pytest

from fleet.errors import Invalid
from fleet.models import Aircraft, Membership
from inspections.models import Inspection, InspectionKind
from inspections.services.lines import Sent
from tests.factories import (
    BALLAST,
    CRITICAL,
    MEASURED,
    NOW,
    PLAIN,
    TWO_PERSON,
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    publish_sheet,
    rig,
)
from tests.inspections.walks import LENGTH, Changes, ready, rules, walk
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

EVERY_LINE = (TWO_PERSON, CRITICAL, MEASURED, PLAIN, BALLAST)
NO_VALUE: dict[str, Any] = {"value": None, "unit": ""}
WHOLE = "second_person"


def not_applicable(code: str) -> Changes:
    return {code: {"outcome": "not_applicable"} | NO_VALUE}


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({}, []),
        *(({code: None}, [code]) for code in EVERY_LINE),
        *(({code: {"outcome": "not_checked"}}, [code]) for code in EVERY_LINE),
        *(({code: {"outcome": "defect"}}, []) for code in EVERY_LINE),  # found wanting is checked
        (not_applicable(PLAIN), []),
        (not_applicable(MEASURED), []),
        (not_applicable(CRITICAL), [CRITICAL]),
        (not_applicable(TWO_PERSON), [TWO_PERSON]),
        (not_applicable(BALLAST), [BALLAST]),
        ({MEASURED: NO_VALUE}, [MEASURED]),
        ({BALLAST: NO_VALUE}, [BALLAST]),
        ({MEASURED: {"outcome": "defect"} | NO_VALUE}, []),  # too flat to be measured
        (dict.fromkeys(EVERY_LINE), sorted(EVERY_LINE)),
    ],
)
def test_every_line_needs_a_valid_answer(
    aircraft: Aircraft, pilot: Membership, second: Membership, changes: Changes, missing: list[str]
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes=changes)
    assert done.inspection.missing == missing
    assert done.inspection.complete is (missing == [])
    stored = Inspection.objects.get(id=done.inspection.id)
    assert (stored.missing, stored.complete, stored.recorded_at) == (missing, missing == [], NOW)
    if missing:
        assert not done.verdict.ready_today


@pytest.mark.parametrize(
    ("of_the_whole", "of_the_line", "missing"),
    [
        ("other", None, []),
        (None, "other", []),
        ("other", "other", []),
        (None, None, [TWO_PERSON]),
        (None, "self", [TWO_PERSON]),
        ("other", "self", [TWO_PERSON]),
        ("self", "other", [WHOLE]),
        ("self", None, [TWO_PERSON, WHOLE]),
        ("self", "self", [TWO_PERSON, WHOLE]),
    ],
)
@pytest.mark.parametrize("kind", [InspectionKind.DAILY, InspectionKind.AFTER_RIGGING])
def test_a_two_person_line_needs_another_person(
    aircraft: Aircraft,
    pilot: Membership,
    second: Membership,
    kind: InspectionKind,
    of_the_whole: str | None,
    of_the_line: str | None,
    missing: list[str],
) -> None:
    people = {"self": pilot, "other": second, None: None}
    named = people[of_the_line]
    done = walk(
        aircraft,
        by=pilot,
        second=people[of_the_whole],
        kind=kind,
        changes={TWO_PERSON: {"second_person": named.id if named else None}},
    )
    whole_missing = kind == InspectionKind.AFTER_RIGGING and "other" not in (of_the_whole, of_the_line)
    expected = [*missing, WHOLE] if whole_missing and WHOLE not in missing else missing
    assert done.inspection.missing == expected


def test_a_line_for_one_person_may_name_the_inspector_as_second(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    changes = {CRITICAL: {"second_person": pilot.id}, TWO_PERSON: {"second_person": second.id}}
    done = walk(aircraft, by=pilot, second=None, changes=changes)
    assert (done.inspection.complete, done.inspection.second_person) == (True, second)


@pytest.mark.parametrize("named", [True, False])
def test_after_rigging_needs_a_second_person_even_on_a_route_without_two_person_lines(
    aircraft: Aircraft, pilot: Membership, second: Membership, named: bool
) -> None:
    bare = publish_sheet(aircraft.aircraft_type, codes=[CRITICAL, PLAIN])  # a daily route, on which it falls back
    rig(aircraft, at=NOW - LENGTH, by=pilot)
    kind = InspectionKind.AFTER_RIGGING
    done = walk(aircraft, by=pilot, second=second if named else None, kind=kind, sheet=bare)
    assert done.inspection.missing == ([] if named else [WHOLE])
    assert ("rigging_check_missing" in rules(aircraft, NOW)) is not named


@pytest.mark.parametrize("kind", [InspectionKind.DAILY, InspectionKind.AFTER_RIGGING])
def test_an_incomplete_inspection_clears_nothing(
    aircraft: Aircraft, pilot: Membership, second: Membership, kind: InspectionKind
) -> None:
    rig(aircraft, at=NOW - LENGTH, by=pilot)
    walk(aircraft, by=pilot, second=second, kind=kind, changes={PLAIN: None})
    assert "rigging_check_missing" in rules(aircraft, NOW)
    assert not ready(aircraft, NOW)


def test_an_incomplete_inspection_does_not_take_back_a_complete_one(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    walk(aircraft, by=pilot, second=second)
    walk(aircraft, by=pilot, second=second, at=NOW + 2 * LENGTH, changes={PLAIN: None})
    assert ready(aircraft, NOW + 2 * LENGTH)


@pytest.mark.parametrize(
    ("results", "pointer", "code"),
    [
        ([Sent(item="no-such-line", outcome="satisfactory")], "/results/0/item", "not_on_sheet"),
        ([Sent(item=PLAIN, outcome="satisfactory")] * 2, "/results/1/item", "twice"),
    ],
)
def test_results_that_do_not_fit_the_sheet(
    aircraft: Aircraft, pilot: Membership, results: list[Sent], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=pilot, second=None, results=results)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


@pytest.mark.parametrize(
    ("times", "pointer", "code"),
    [
        ({"started_at": NOW + LENGTH, "completed_at": NOW + LENGTH}, "/started_at", "in_future"),
        ({"completed_at": NOW + LENGTH}, "/completed_at", "in_future"),
        ({"started_at": NOW, "completed_at": NOW - LENGTH}, "/completed_at", "out_of_order"),
    ],
)
def test_times_that_cannot_be_right(
    aircraft: Aircraft, pilot: Membership, second: Membership, times: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=pilot, second=second, **times)
    assert (pointer, code) in [(one.pointer, one.code) for one in refusal.value.errors]


@pytest.mark.parametrize("on_a_line", [True, False])
@pytest.mark.parametrize("who", ["of another club", "gone"])
def test_a_second_person_is_a_member_of_the_club(
    aircraft: Aircraft, pilot: Membership, second: Membership, who: str, on_a_line: bool
) -> None:
    with unchanged(), taken_back():
        stranger = MemberFactory.create(club=ClubFactory.create() if who == "of another club" else aircraft.club)
        stranger.active = who != "gone"
        stranger.save()
        changes: Changes = {TWO_PERSON: {"second_person": stranger.id}} if on_a_line else {}
        with pytest.raises(Invalid) as refusal:
            walk(aircraft, by=pilot, second=second if on_a_line else stranger, changes=changes)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/second_person", "unknown_member")]


def test_an_inspector_may_be_the_second_person(aircraft: Aircraft, pilot: Membership) -> None:
    other = InspectorFactory.create(club=aircraft.club)
    assert walk(aircraft, by=pilot, second=other).inspection.complete
