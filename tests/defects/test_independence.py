"""The independent inspection: by whom, of what, and what an authorisation covers."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from defects.lifecycle import INSPECT_INDEPENDENTLY, RECTIFY, RELEASE, Act, State
from defects.models import Defect, IndependentInspection
from defects.permissions import allowed_acts
from fleet.errors import Conflict, Forbidden
from fleet.models import Aircraft, AircraftCategory, Membership, Privilege, Role
from tests.defects.attempts import LATER, attempt
from tests.factories import (
    AircraftTypeFactory,
    InspectorFactory,
    MemberFactory,
    assessed,
    authorise,
    inspected,
    rectified,
    rejected,
)
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("critical", [True, False])
@pytest.mark.parametrize("part", ["performed_by", "supervised_by", "recorded_by"])
def test_whoever_had_a_hand_in_the_work_does_not_inspect_it(aircraft: Aircraft, part: str, critical: bool) -> None:
    people = {
        name: InspectorFactory.create(club=aircraft.club) for name in ("performed_by", "supervised_by", "recorded_by")
    }
    defect = assessed(aircraft, critical=critical)
    named: dict[str, Any] = {"performed_by": people["performed_by"].id, "supervised_by": people["supervised_by"].id}
    attempt(RECTIFY, defect, by=people["recorded_by"], **named)
    with unchanged(), pytest.raises(Forbidden) as refusal:
        attempt(INSPECT_INDEPENDENTLY, defect, by=people[part])
    assert refusal.value.code == "not_independent"
    assert INSPECT_INDEPENDENTLY.code not in allowed_acts(Defect.objects.get(id=defect.id), people[part], LATER)


@pytest.mark.parametrize(
    ("outcome", "state", "effects"),
    [
        ("accepted", State.RECTIFIED, {"critical_item_defect": "grounds", "rectification_unreleased": "grounds"}),
        (
            "rejected",
            State.ASSESSED,
            {
                "critical_item_defect": "grounds",
                "rectification_unreleased": "grounds",
                "independent_inspection_missing": "grounds",
            },
        ),
    ],
)
def test_what_follows_from_the_inspection(
    aircraft: Aircraft, outcome: str, state: State, effects: dict[str, str]
) -> None:
    defect = rectified(aircraft, critical=True)
    other = InspectorFactory.create(club=aircraft.club)
    acted = attempt(INSPECT_INDEPENDENTLY, defect, by=other, outcome=outcome)
    assert acted.defect.state == state
    assert effects_of(acted) == effects
    check = IndependentInspection.objects.get()
    assert (check.inspected_by, check.inspected_at, check.remark) == (other, LATER, "Sound.")
    work = check.rectification
    assert (check.worked_by, check.supervised_by) == (work.performed_by, work.supervised_by)


def test_accepted_work_is_not_inspected_again(aircraft: Aircraft) -> None:
    defect = inspected(aircraft, critical=True)
    third = InspectorFactory.create(club=aircraft.club)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(INSPECT_INDEPENDENTLY, defect, by=third, outcome="rejected")
    assert refusal.value.code == "already_inspected"


def test_work_done_anew_after_a_rejection_is_inspected_anew(aircraft: Aircraft) -> None:
    defect = rejected(aircraft, critical=True)
    worker, other = InspectorFactory.create(club=aircraft.club), InspectorFactory.create(club=aircraft.club)
    attempt(RECTIFY, defect, by=worker)
    with unchanged(), pytest.raises(Conflict) as refusal:
        attempt(RELEASE, defect, by=worker)
    assert refusal.value.code == "independent_inspection_missing"
    attempt(INSPECT_INDEPENDENTLY, defect, by=other)
    acted, _signed = attempt(RELEASE, defect, by=worker)
    assert acted.defect.state == State.RELEASED


# what an authorisation covers -----------------------------------------------------------------------------------------


def holder(aircraft: Aircraft, **scope: Any) -> Membership:
    """A new inspector with one authorisation of this scope."""
    member = InspectorFactory.create(club=aircraft.club, authorised=False)
    authorise(member, **scope)
    return member


def refusal_of(act: Act, defect: Defect, by: Membership, at: datetime = LATER) -> str | None:
    try:
        attempt(act, defect, by=by, at=at)
    except Forbidden as refusal:
        return refusal.code
    return None


PRIVILEGES = {INSPECT_INDEPENDENTLY.code: Privilege.INDEPENDENT_INSPECTION, RELEASE.code: Privilege.RELEASE}


@pytest.mark.parametrize("act", [INSPECT_INDEPENDENTLY, RELEASE], ids=lambda act: act.code)
@pytest.mark.parametrize(
    ("scope", "covers"),
    [
        ({}, True),
        ({"categories": [AircraftCategory.SAILPLANE]}, True),
        ({"categories": [AircraftCategory.AEROPLANE, AircraftCategory.POWERED_SAILPLANE]}, False),
        ({"valid_from": date(2025, 5, 14)}, True),  # LATER is on the 14th in the club's zone; both ends are included
        ({"valid_from": date(2025, 5, 15)}, False),
        ({"valid_until": date(2025, 5, 14)}, True),
        ({"valid_until": date(2025, 5, 13)}, False),
    ],
)
def test_category_and_dates_of_an_authorisation(
    aircraft: Aircraft, act: Act, scope: dict[str, Any], covers: bool
) -> None:
    defect = rectified(aircraft)
    assert refusal_of(act, defect, holder(aircraft, **scope)) == (None if covers else "authorisation")


@pytest.mark.parametrize("act", [INSPECT_INDEPENDENTLY, RELEASE], ids=lambda act: act.code)
@pytest.mark.parametrize("privilege", Privilege)
def test_a_privilege_covers_its_own_act_only(aircraft: Aircraft, act: Act, privilege: Privilege) -> None:
    defect = rectified(aircraft)
    code = refusal_of(act, defect, holder(aircraft, privileges=[privilege]))
    assert code == (None if PRIVILEGES[act.code] == privilege else "authorisation")


@pytest.mark.parametrize("act", [INSPECT_INDEPENDENTLY, RELEASE], ids=lambda act: act.code)
@pytest.mark.parametrize("of_this_type", [True, False])
def test_named_types_narrow_the_scope(aircraft: Aircraft, act: Act, of_this_type: bool) -> None:
    another = AircraftTypeFactory.create(club=aircraft.club)
    named = aircraft.aircraft_type if of_this_type else another
    defect = rectified(aircraft)
    code = refusal_of(act, defect, holder(aircraft, aircraft_types=[named.id]))
    assert code == (None if of_this_type else "authorisation")


@pytest.mark.parametrize("act", [INSPECT_INDEPENDENTLY, RELEASE], ids=lambda act: act.code)
def test_a_revoked_authorisation_covers_nothing(aircraft: Aircraft, act: Act) -> None:
    defect, member = rectified(aircraft), holder(aircraft)
    member.authorisations.update(revoked_at=LATER)
    assert refusal_of(act, defect, member) == "authorisation"


@pytest.mark.parametrize(
    ("at", "covers"),
    [
        (datetime(2025, 5, 14, 21, 59, 59, tzinfo=UTC), True),  # 23:59:59 in the club's zone
        (datetime(2025, 5, 14, 22, 0, tzinfo=UTC), False),
    ],
)
def test_the_last_valid_day_ends_at_midnight_in_the_clubs_zone(aircraft: Aircraft, at: datetime, covers: bool) -> None:
    defect, member = rectified(aircraft), holder(aircraft, valid_until=date(2025, 5, 14))
    assert refusal_of(RELEASE, defect, member, at) == (None if covers else "authorisation")


def test_one_of_several_authorisations_is_enough(aircraft: Aircraft) -> None:
    defect, member = rectified(aircraft), holder(aircraft, valid_until=date(2025, 1, 31))
    authorise(member, categories=[AircraftCategory.AEROPLANE])
    longest = authorise(member, valid_until=date(2030, 1, 31))
    authorise(member, valid_until=date(2026, 1, 31))
    _acted, signed = attempt(RELEASE, defect, by=member)
    assert signed.authorisation == longest


def test_an_authorisation_without_the_role_releases_nothing(aircraft: Aircraft) -> None:
    defect = rectified(aircraft)
    officer = MemberFactory.create(club=aircraft.club, roles=[Role.TECHNICAL_OFFICER])
    authorise(officer)
    assert refusal_of(RELEASE, defect, officer) == "role"
