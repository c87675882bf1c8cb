"""Who decides about a defect, and what it means for the aircraft, against Part-ML as far as it is modelled."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from defects.lifecycle import DEFER, RECTIFY, TRIAGE, WITHDRAW_DEFERRAL
from defects.models import Deferral
from fleet.errors import Conflict, Forbidden
from fleet.models import Aircraft, Role
from inspections.services import events
from tests.defects.attempts import attempt
from tests.factories import NOW, assessed, fresh, reported
from tests.outside.conftest import Everybody
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("found", [{}, {"critical": True}])
def test_a_pilot_alone_defers_nothing(aircraft: Aircraft, everybody: Everybody, found: dict[str, Any]) -> None:
    # Check value T13: ML.A.403(b), GM (read in part). For equipment that is not required (T12) Part-ML lets the pilot
    # decide; the club's acts are stricter and leave it to the technical officer.
    defect = assessed(aircraft, **found)
    with unchanged(), pytest.raises(Forbidden):
        attempt(DEFER, defect, by=everybody[Role.PILOT])


def test_with_the_owners_agreement_on_record_it_is_deferred(aircraft: Aircraft, everybody: Everybody) -> None:
    # Check values T12 and T14: ML.A.403(b), GM1 ML.A.403 (read): the technical officer decides for the owner.
    basis = "agreed by the owner, ML.A.403(b)"
    acted = attempt(DEFER, assessed(aircraft), by=everybody[Role.TECHNICAL_OFFICER], basis=basis)
    assert effects_of(acted) == {"deferral_running": "limits"}
    assert Deferral.objects.get().basis == basis


def test_a_structural_crack_is_not_deferred(aircraft: Aircraft, everybody: Everybody) -> None:
    # ML-403-2, test line: structural crack, serious (ML.A.403(a)).
    defect = assessed(aircraft, critical=True, damage_kind="crack")
    for role in (Role.TECHNICAL_OFFICER, Role.INSPECTOR):
        with unchanged(), pytest.raises(Conflict) as refusal:
            attempt(DEFER, defect, by=everybody[role])
        assert refusal.value.code == "not_deferrable"


def test_carried_over_it_keeps_the_date_on_which_it_was_first_identified(
    aircraft: Aircraft, everybody: Everybody
) -> None:
    # Check value T15: AMC ML.A.403 (read): found 2025-03-01, carried over 2025-05-10 (a year earlier than in the text).
    found_at = datetime(2025, 3, 1, 10, 0, tzinfo=UTC)
    carried_at = datetime(2025, 5, 10, 10, 0, tzinfo=UTC)
    officer = everybody[Role.TECHNICAL_OFFICER]
    defect = assessed(aircraft, at=found_at)
    attempt(DEFER, defect, by=officer, at=found_at + timedelta(hours=1), until_date=carried_at.date())
    attempt(WITHDRAW_DEFERRAL, defect, by=officer, at=carried_at)
    attempt(DEFER, defect, by=officer, at=carried_at)
    assert set(Deferral.objects.values_list("first_identified_at", flat=True)) == {found_at}


@pytest.mark.parametrize(("days", "effect"), [(0, "limits"), (8, "grounds")])
def test_a_defect_neither_corrected_nor_deferred_shows(
    aircraft: Aircraft, everybody: Everybody, days: int, effect: str
) -> None:
    # Check value T27: ML.A.903(a)(4) (read): such a defect fails the review; here it limits, and later grounds.
    defect = reported(aircraft)
    acted = attempt(TRIAGE, defect, by=everybody[Role.TECHNICAL_OFFICER])
    assert acted.verdict.open_defects == 1
    at = NOW + timedelta(days=days, hours=1)
    again = attempt(TRIAGE, defect, by=everybody[Role.TECHNICAL_OFFICER], at=at)
    assert effects_of(again) == {"assessed_defect": effect}


def test_unassessed_on_a_critical_item_it_grounds_until_an_entitled_person_has_decided(
    aircraft: Aircraft, everybody: Everybody
) -> None:
    # Check value T71: project rule derived from ML.A.403.
    defect = reported(aircraft, critical=True)
    assert fresh(aircraft).airworthiness.status == "grounded"
    with unchanged(), pytest.raises(Forbidden):
        attempt(TRIAGE, defect, by=everybody[Role.TECHNICAL_OFFICER], assessment="no_defect")
    acted = attempt(TRIAGE, defect, by=everybody[Role.INSPECTOR], assessment="no_defect")
    assert effects_of(acted) == {}


def test_a_defect_that_seriously_endangers_is_rectified_before_further_flight(
    aircraft: Aircraft, everybody: Everybody
) -> None:
    # ML-403-1: ML.A.403(a) (read in a secondary text).
    defect = assessed(aircraft, assessment="hazard")
    inspector = everybody[Role.INSPECTOR]
    assert fresh(aircraft).airworthiness.status == "grounded"
    worked = attempt(RECTIFY, defect, by=inspector)
    assert effects_of(worked)["rectification_unreleased"] == "grounds"  # ML.A.801(a)


@pytest.mark.parametrize("kind", ["heavy_landing", "overspeed", "lightning"])
def test_an_abnormal_event_grounds_until_the_special_inspection_is_closed(
    aircraft: Aircraft, everybody: Everybody, kind: str
) -> None:
    # ML-902-1, test line: ML.A.902(b) (from memory, reproduced).
    _occurrence, verdict = events.report_occurrence(
        aircraft_id=aircraft.id,
        by=everybody[Role.PILOT],
        at=NOW,
        kind=kind,
        occurred_at=NOW,
        description="As it says.",
    )
    assert effects_of(verdict) == {"unscheduled_inspection_due": "grounds"}
