"""The daily inspection and the inspection after rigging, against an association's rules."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from defects.lifecycle import RELEASE
from defects.models import Defect
from fleet import assessment
from fleet.errors import Forbidden
from fleet.models import Aircraft, Membership, Role
from inspections.models import InspectionKind, RiggingEvent
from tests.defects.attempts import attempt
from tests.factories import TWO_PERSON, ItemFactory, MemberFactory, fresh, inspect, rectified, reported, rig
from tests.inspections.walks import walk
from tests.outside.conftest import Everybody
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


def local(day: int, hour: int, minute: int = 0) -> datetime:
    """An instant of June 2026 on the club's clock."""
    return datetime(2026, 6, day, hour, minute, tzinfo=ZoneInfo("Europe/Vienna"))


def ready(aircraft: Aircraft, at: datetime) -> bool:
    return bool(assessment.shown_at(fresh(aircraft).airworthiness, at)["ready_today"])


@pytest.mark.parametrize(
    ("inspected_at", "flight_at", "valid"),
    [
        # Check value T67: BGA Operational Regulation 38 (read), before flying on each day.
        (local(1, 18), local(2, 9), False),
        # The second test line of DI-1, same source.
        (local(2, 8), local(2, 9), True),
        (local(2, 8), local(2, 23, 59), True),
        (local(2, 8), local(3, 0), False),
    ],
)
def test_it_is_made_before_flying_on_each_day(
    aircraft: Aircraft, inspected_at: datetime, flight_at: datetime, valid: bool
) -> None:
    inspect(aircraft, at=inspected_at)
    assert ready(aircraft, flight_at) is valid


def test_a_newly_rigged_glider_gets_a_daily_inspection_again(aircraft: Aircraft) -> None:
    # DI-2, test line: inspected 08:00, derigged and rigged 13:00 -> void; new inspection and control check required
    # (BGA guidance, read).
    inspect(aircraft, at=local(1, 8))
    rig(fresh(aircraft), at=local(1, 12), kind="derigged")
    rig(fresh(aircraft), at=local(1, 13))
    assert not ready(aircraft, local(1, 14))
    assert effects_of(inspect(fresh(aircraft), at=local(1, 14))) == {"rigging_check_missing": "grounds"}
    done = inspect(fresh(aircraft), InspectionKind.AFTER_RIGGING, at=local(1, 15))
    assert (effects_of(done), done.verdict.ready_today) == ({}, True)


def test_without_the_positive_control_check_it_is_incomplete(aircraft: Aircraft, everybody: Everybody) -> None:
    # Check value T69: BGA Operational Regulation 38 (read).
    second = MemberFactory.create(club=aircraft.club)
    done = walk(aircraft, by=everybody[Role.PILOT], second=second, at=local(1, 8), changes={TWO_PERSON: None})
    assert (done.inspection.complete, done.inspection.missing) == (False, [TWO_PERSON])
    assert not done.verdict.ready_today


@pytest.mark.parametrize("own", [True, False])
def test_the_independent_check_after_rigging_is_not_by_who_does_the_inspection(
    aircraft: Aircraft, everybody: Everybody, own: bool
) -> None:
    # DI-4: published rules of a gliding centre (club practice, read).
    pilot = everybody[Role.PILOT]
    rig(aircraft, at=local(1, 8))
    second = pilot if own else MemberFactory.create(club=aircraft.club)
    done = walk(aircraft, by=pilot, second=second, at=local(1, 9), kind=InspectionKind.AFTER_RIGGING)
    assert ("rigging_check_missing" in effects_of(done)) is own


def test_a_broken_strand_of_a_control_cable_grounds_when_it_is_reported(aircraft: Aircraft) -> None:
    # DI-9, derived: control mechanism, joint code 2720 (JASC, read by cross-reference).
    ItemFactory.create(aircraft_type=aircraft.aircraft_type, code="rudder-cable", critical=True, system_code="2720")
    at = local(1, 8)
    reported(aircraft, at=at, item_code="rudder-cable", description="Strand broken.")
    shown = assessment.shown_at(fresh(aircraft).airworthiness, at)
    assert shown["status"] == "grounded"
    assert Defect.objects.get().state == "reported"


def test_the_walkaround_needs_no_licence_and_is_no_release(aircraft: Aircraft, everybody: Everybody) -> None:
    # ML-201-2, test line: M.A.201(d) (read), ML.A.201(d).
    pilot = everybody[Role.PILOT]
    pilot.authorisations.all().delete()
    second = MemberFactory.create(club=aircraft.club)
    assert walk(aircraft, by=pilot, second=second, at=local(1, 8)).verdict.ready_today
    defect = rectified(fresh(aircraft), at=local(1, 9))
    with unchanged(), pytest.raises(Forbidden):
        attempt(RELEASE, defect, by=pilot, at=local(1, 10))


def test_rigging_demands_no_release_but_a_person(aircraft: Aircraft, everybody: Everybody) -> None:
    # ML-803-3, test line: Part-ML Appendix II(b) (read).
    pilot: Membership = everybody[Role.PILOT]
    rig(aircraft, at=local(1, 8), by=pilot)
    assert RiggingEvent.objects.get().recorded_by == pilot
    done = inspect(fresh(aircraft), InspectionKind.AFTER_RIGGING, at=local(1, 8) + timedelta(hours=1))
    assert done.verdict.status.code == "serviceable"
