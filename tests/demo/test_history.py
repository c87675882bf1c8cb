"""What has happened to the demo's aircraft, and who its people are."""

import pytest

from config.demo import load
from config.demo.people import MEMBERS, OUTSIDERS
from defects.models import Defect, DeferralEnd
from fleet.models import Aircraft, Authorisation, Event, Membership, Person, Privilege
from fleet.permissions import authorisation_for
from inspections.models import Inspection, Occurrence, RiggingEvent
from inspections.models.records import InspectionResult
from tests.demo.conftest import PASSWORD, Demo

ROLES = {
    "pilot": ["pilot"],
    "second": ["pilot"],
    "officer": ["pilot", "technical_officer"],
    "inspector": ["inspector", "pilot"],
    "inspector2": ["inspector", "pilot"],
    "auditor": ["auditor"],
    "admin": ["administrator"],
    "outsider": ["administrator", "inspector", "pilot", "technical_officer"],
}


def test_the_people_have_their_roles_and_the_password(demo: Demo) -> None:
    members = Membership.objects.select_related("person")
    assert {one.person.username: one.roles for one in members} == ROLES
    assert all(one.person.check_password(PASSWORD) for one in members)


def test_the_outsider_is_alone_in_another_club(demo: Demo) -> None:
    assert {one.person.username for one in demo.second_club.memberships.all()} == {"outsider"}
    assert demo.club.memberships.count() == len(MEMBERS)


@pytest.mark.parametrize("username", [one.username for one in (*MEMBERS, *OUTSIDERS) if one.licence])
@pytest.mark.parametrize("privilege", Privilege)
def test_inspectors_are_authorised_for_every_aircraft_of_their_club(
    demo: Demo, username: str, privilege: Privilege
) -> None:
    member = Membership.objects.get(person__username=username)
    for aircraft in Aircraft.objects.filter(club_id=member.club_id).select_related("club", "aircraft_type"):
        assert authorisation_for(member, aircraft, privilege, demo.now)


def test_only_inspectors_are_authorised(demo: Demo) -> None:
    assert Authorisation.objects.exclude(membership__roles__contains=["inspector"]).count() == 0


def test_the_two_seater_was_inspected_today_by_the_pilot_with_a_second_person(demo: Demo) -> None:
    latest = demo.aircraft("ZZ-K01").inspections.latest("completed_at")
    assert (latest.kind, latest.complete) == ("daily", True)
    assert latest.inspected_by.person.username == "pilot"
    assert latest.second_person is not None
    assert latest.second_person.person.username == "second"


def test_a_critical_defect_was_released_with_an_independent_inspection(demo: Demo) -> None:
    released = Defect.objects.get(state="released", item__critical=True)
    work = released.rectification
    assert work is not None
    assert work.independent_inspection.outcome == "accepted"
    hands = {work.performed_by_id, work.supervised_by_id, work.recorded_by_id}
    assert work.independent_inspection.inspected_by_id not in hands
    assert released.release.record_hash


def test_a_value_outside_its_limits_became_a_defect_and_was_put_right(demo: Demo) -> None:
    result = InspectionResult.objects.get(line__code="main-tyre-pressure", outcome="defect")
    assert result.line.minimum is not None
    assert result.value is not None
    assert result.value < result.line.minimum
    assert result.defect is not None
    assert result.defect.state == "released"


def test_deferrals_ended_in_every_way_that_people_can_end_them(demo: Demo) -> None:
    ends = {(one.kind, one.past_limit) for one in DeferralEnd.objects.all()}
    assert ends == {("withdrawn", False), ("rectified", True)}  # the second one after its limit had passed


def test_the_deferral_that_ran_out_grounded_the_motor_glider(demo: Demo) -> None:
    grounding = demo.aircraft("ZZ-K31").assessment_periods.filter(
        status="grounded", reasons__0__rule="deferral_expired"
    )
    assert grounding.exists()


def test_a_derigged_aircraft_was_grounded_until_its_inspection_after_rigging(demo: Demo) -> None:
    aircraft = demo.aircraft("ZZ-K01")
    rigged = RiggingEvent.objects.filter(aircraft=aircraft, kind="rigged").get()
    check = Inspection.objects.get(aircraft=aircraft, kind="after_rigging", complete=True)
    assert check.started_at > rigged.occurred_at
    assert check.second_person_id not in (None, check.inspected_by_id)


def test_the_hard_landing_was_answered_by_an_inspector(demo: Demo) -> None:
    occurrence = Occurrence.objects.get(kind="heavy_landing")
    answer = occurrence.inspections.get()
    assert answer.complete
    assert "inspector" in answer.inspected_by.roles


def test_an_inspection_was_left_incomplete(demo: Demo) -> None:
    incomplete = Inspection.objects.get(complete=False)
    assert "harnesses" in incomplete.missing
    assert len(incomplete.missing) > 1  # nobody helped, so the checks for two are missing as well


def test_nothing_else_is_open(demo: Demo) -> None:
    closed = Defect.objects.filter(state__in=["released", "no_defect"])
    still_open = Defect.objects.exclude(id__in=closed.values("id"))
    assert {one.aircraft.registration: one.state for one in still_open.select_related("aircraft")} == {
        "ZZ-K11": "assessed",
        "ZZ-K12": "deferred",
        "ZZ-K21": "reported",
    }
    assert closed.filter(state="no_defect").count() == 2


def test_loading_again_changes_nothing(demo: Demo) -> None:
    before = [Event.objects.count(), Person.objects.count(), *Person.objects.order_by("id").values_list("password")]
    load(password="another one", now=demo.now)
    assert before == [
        Event.objects.count(),
        Person.objects.count(),
        *Person.objects.order_by("id").values_list("password"),
    ]
