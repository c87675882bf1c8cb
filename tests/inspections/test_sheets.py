"""Sheets: published in versions that never change, with the item as it was; and which sheet an inspection follows."""

from decimal import Decimal
from typing import Any

import pytest

from fleet.errors import Conflict, DomainError, Forbidden, Invalid, NotFound
from fleet.models import INSPECTABLE_FIELDS, Aircraft, Event, Item, Membership, Role
from fleet.services import register
from inspections.models import Inspection, InspectionKind, Sheet
from inspections.services import sheets
from tests.factories import (
    CRITICAL,
    MEASURED,
    NOW,
    PLAIN,
    TWO_PERSON,
    AircraftTypeFactory,
    ClubFactory,
    ItemFactory,
    MemberFactory,
    make_type,
    publish_sheet,
)
from tests.inspections.walks import LENGTH, walk
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

ROUTE = [CRITICAL, TWO_PERSON, PLAIN]


def publish(aircraft: Aircraft, by: Membership, **sent: Any) -> Sheet:
    given: dict[str, Any] = {"kind": "daily", "title": "Short walk", "codes": ROUTE, "at": NOW}
    return sheets.publish(aircraft_type_id=aircraft.aircraft_type_id, by=by, **given | sent)


@pytest.mark.parametrize("role", Role)
def test_who_publishes(aircraft: Aircraft, role: Role) -> None:
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    if role in (Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR):
        assert publish(aircraft, member).published_by == member
        return
    with unchanged(), pytest.raises(Forbidden):
        publish(aircraft, member)


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [
        ({"codes": []}, "/lines", "empty"),
        ({"codes": [CRITICAL, "no-such-item"]}, "/lines/1", "unknown_item"),
        ({"codes": [CRITICAL, PLAIN, CRITICAL]}, "/lines/2", "twice"),
        ({"codes": [CRITICAL, PLAIN], "kind": "after_rigging"}, "/lines", "two_person_missing"),
    ],
)
def test_a_route_that_cannot_be_right(
    aircraft: Aircraft, officer: Membership, sent: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        publish(aircraft, officer, **sent)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


def test_another_types_item_is_not_on_the_route(aircraft: Aircraft, officer: Membership) -> None:
    ItemFactory.create(aircraft_type=AircraftTypeFactory.create(club=aircraft.club), code="elsewhere")
    with unchanged(), pytest.raises(Invalid):
        publish(aircraft, officer, codes=["elsewhere"])


def test_for_another_club_the_type_is_not_there(aircraft: Aircraft) -> None:
    with unchanged(), taken_back(), pytest.raises(NotFound):
        publish(aircraft, MemberFactory.create(club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER]))


def test_versions_run_by_kind_and_the_route_keeps_its_order(aircraft: Aircraft, officer: Membership) -> None:
    daily, rigging, again = (publish(aircraft, officer, kind=kind) for kind in ("daily", "after_rigging", "daily"))
    assert (daily.version, rigging.version, again.version) == (2, 2, 3)  # each kind had one
    assert [(line.position, line.code) for line in again.lines.all()] == list(enumerate(ROUTE, start=1))
    assert Event.objects.filter(kind="sheet_publish", subject_id=again.id).count() == 1


def test_a_line_says_what_the_item_said_when_it_was_published(aircraft: Aircraft, officer: Membership) -> None:
    sheet = publish(aircraft, officer, codes=[MEASURED])
    before = Item.objects.get(code=MEASURED)
    changes = {
        "title": "Main wheel pressure",
        "minimum": Decimal("2.0"),
        "maximum": Decimal("2.4"),
        "caution": "Cold tyre.",
        "critical": True,
        "deferrable": False,
    }
    register.change_item(before, by=officer, at=NOW, changes=changes)
    (line,) = sheet.lines.all()
    assert {name: getattr(line, name) for name in INSPECTABLE_FIELDS} == {
        name: getattr(before, name) for name in INSPECTABLE_FIELDS
    }


def test_an_inspection_is_judged_by_the_limits_of_its_sheet_and_the_defect_by_the_item_as_it_is_now(
    aircraft: Aircraft, officer: Membership, pilot: Membership, second: Membership
) -> None:
    changes = {"minimum": Decimal("2.0"), "maximum": Decimal("2.4"), "critical": True, "deferrable": False}
    register.change_item(Item.objects.get(code=MEASURED), by=officer, at=NOW, changes=changes)
    inside = {MEASURED: {"value": Decimal("3.2"), "unit": "bar"}}  # 3.0 to 3.6 bar on the published sheet
    assert walk(aircraft, by=pilot, second=second, changes=inside).defects == ()
    outside = {MEASURED: {"value": Decimal("2.2"), "unit": "bar"}}
    done = walk(aircraft, by=pilot, second=second, changes=outside, at=NOW + LENGTH)
    assert len(done.defects) == 1
    assert done.verdict.status.code == "grounded"  # because the item is critical now


def test_a_new_item_enters_with_the_next_version(
    aircraft: Aircraft, officer: Membership, pilot: Membership, second: Membership
) -> None:
    ItemFactory.create(aircraft_type=aircraft.aircraft_type, code="wing-tip-wheel", critical=True)
    assert walk(aircraft, by=pilot, second=second).inspection.complete
    sheet = publish(aircraft, officer, codes=[*ROUTE, "wing-tip-wheel"])
    done = walk(aircraft, by=pilot, second=second, at=NOW + LENGTH, changes={"wing-tip-wheel": None})
    assert (done.inspection.sheet, done.inspection.missing) == (sheet, ["wing-tip-wheel"])


def test_an_older_version_is_accepted_when_it_is_named(
    aircraft: Aircraft, officer: Membership, pilot: Membership, second: Membership
) -> None:
    older = Sheet.objects.get(kind="daily")
    newer = publish(aircraft, officer)
    assert walk(aircraft, by=pilot, second=second).inspection.sheet == newer
    done = walk(aircraft, by=pilot, second=second, at=NOW + LENGTH, sheet=older)
    assert (done.inspection.sheet, done.verdict.ready_today) == (older, True)


@pytest.mark.parametrize(
    ("of_sheet", "inspection", "fits"),
    [
        ("daily", "daily", True),
        ("daily", "after_rigging", True),  # without a sheet of its own, the daily route at least
        ("daily", "unscheduled", True),
        ("daily", "periodic", False),
        ("after_rigging", "after_rigging", True),
        ("after_rigging", "daily", False),
        ("after_rigging", "unscheduled", False),
        ("unscheduled", "unscheduled", True),
        ("unscheduled", "daily", False),
        ("unscheduled", "periodic", False),
        ("periodic", "periodic", True),
        ("periodic", "daily", False),
        ("periodic", "unscheduled", False),
    ],
)
def test_a_named_sheet_fits_the_kind_of_inspection(
    aircraft: Aircraft,
    officer: Membership,
    inspector: Membership,
    second: Membership,
    of_sheet: str,
    inspection: str,
    fits: bool,
) -> None:
    sheet = publish(aircraft, officer, kind=of_sheet)
    if fits:
        done = walk(aircraft, by=inspector, second=second, kind=inspection, sheet=sheet)
        assert (done.inspection.sheet, done.inspection.complete) == (sheet, True)
        return
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=inspector, second=second, kind=inspection, sheet=sheet)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/sheet", "unknown_sheet")]


def test_a_sheet_of_another_type_does_not_fit(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    other = publish_sheet(make_type(aircraft.club))
    with unchanged(), pytest.raises(Invalid):
        walk(aircraft, by=pilot, second=second, sheet=other)


@pytest.mark.parametrize("kind", [InspectionKind.UNSCHEDULED, InspectionKind.AFTER_RIGGING])
def test_without_a_sheet_of_its_own_the_daily_route_is_followed_and_with_one_it_is_not(
    aircraft: Aircraft, officer: Membership, inspector: Membership, second: Membership, kind: InspectionKind
) -> None:
    if kind == InspectionKind.UNSCHEDULED:  # the type has a sheet for after rigging already
        done = walk(aircraft, by=inspector, second=second, kind=kind)
        assert done.inspection.sheet.kind == "daily"
    own = publish(aircraft, officer, kind=kind)
    done = walk(aircraft, by=inspector, second=second, kind=kind, at=NOW + LENGTH)
    assert done.inspection.sheet == own


def test_a_periodic_inspection_needs_its_own_sheet(
    aircraft: Aircraft, inspector: Membership, second: Membership
) -> None:
    with unchanged(), pytest.raises(Conflict) as refusal:
        walk(aircraft, by=inspector, second=second, kind=InspectionKind.PERIODIC, results=[])
    assert refusal.value.code == "no_sheet"


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("kind", InspectionKind)
def test_who_makes_which_inspection(
    aircraft: Aircraft, officer: Membership, second: Membership, kind: InspectionKind, role: Role
) -> None:
    sheet = publish(aircraft, officer, kind=kind)
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    walkers = {Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR}
    may = role in walkers and kind in (InspectionKind.DAILY, InspectionKind.AFTER_RIGGING)
    if may:
        assert walk(aircraft, by=member, second=second, kind=kind, sheet=sheet).inspection.complete
        return
    with unchanged(), pytest.raises(DomainError) as refusal:
        walk(aircraft, by=member, second=second, kind=kind, sheet=sheet)
    assert isinstance(refusal.value, Forbidden)
    assert refusal.value.code == ("authorisation" if role == Role.INSPECTOR else "role")


@pytest.mark.parametrize("kind", [InspectionKind.UNSCHEDULED, InspectionKind.PERIODIC])
def test_an_authorised_inspector_makes_them(
    aircraft: Aircraft, officer: Membership, inspector: Membership, second: Membership, kind: InspectionKind
) -> None:
    sheet = publish(aircraft, officer, kind=kind)
    walk(aircraft, by=inspector, second=second, kind=kind, sheet=sheet)
    assert Inspection.objects.get().kind == kind
