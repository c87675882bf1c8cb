"""On whatever day and at whatever hour it is loaded, the demo shows what it promises."""

from datetime import datetime
from itertools import pairwise

import pytest

from fleet import assessment, events
from fleet.airworthiness.flying_day import flying_day
from fleet.models import Aircraft, AssessmentPeriod, Event
from fleet.periods import TICK
from inspections.models import Inspection
from tests.demo.conftest import Demo

STATES = {
    "ZZ-K01": ("serviceable", True, {}),
    "ZZ-K11": ("grounded", False, {"critical_item_defect": "grounds", "hazard_assessed": "grounds"}),
    "ZZ-K12": ("limited", True, {"deferral_running": "limits"}),
    "ZZ-K21": ("limited", True, {"untriaged_defect": "limits"}),
    "ZZ-K22": ("serviceable", False, {}),
    "ZZ-K31": ("serviceable", True, {"document_expired": "advises"}),
    "ZZ-K41": ("serviceable", True, {}),
    "ZZ-K42": ("serviceable", True, {}),
    "ZZ-W07": ("serviceable", True, {}),
}


@pytest.mark.parametrize("registration", STATES)
def test_each_aircraft_shows_the_promised_state(demo: Demo, registration: str) -> None:
    shown = demo.aircraft(registration).airworthiness
    reasons = {reason["rule"]: reason["effect"] for reason in shown.reasons}
    assert (shown.status, shown.ready_today, reasons) == STATES[registration]


def test_there_are_no_other_aircraft(demo: Demo) -> None:
    assert set(Aircraft.objects.values_list("registration", flat=True)) == set(STATES)
    assert [one.registration for one in demo.second_club.aircraft.all()] == ["ZZ-W07"]


def test_the_stored_verdict_is_the_one_computed_from_the_facts(demo: Demo) -> None:
    fleet = {one.id: one for one in Aircraft.objects.select_related("airworthiness")}
    for aircraft_id, verdict in assessment.assess(list(fleet), demo.now).items():
        state = fleet[aircraft_id].airworthiness
        assert {name: getattr(state, name) for name in assessment.SHOWN} == assessment.shown_values(verdict)
        assert state.valid_until == verdict.valid_until
        assert state.valid_until is None or state.valid_until > demo.now


def test_the_record_verifies_to_its_last_event(demo: Demo) -> None:
    of_clubs = [events.verify(club) for club in (demo.club, demo.second_club)]
    assert [found.faults for found in of_clubs] == [(), ()]
    assert sum(found.checked for found in of_clubs) == Event.objects.count() > 0


def test_nothing_happened_after_now(demo: Demo) -> None:
    latest = demo.now + TICK  # at midnight itself the new day comes first, and then the inspection
    assert not Event.objects.filter(recorded_at__gt=latest).exists()
    assert not Inspection.objects.filter(completed_at__gt=demo.now).exists()
    assert not AssessmentPeriod.objects.filter(shown_from__gt=latest).exists()


def test_the_record_of_each_aircraft_goes_forward(demo: Demo) -> None:
    for aircraft in Aircraft.objects.all():
        times = list(aircraft.events.order_by("sequence").values_list("recorded_at", flat=True))
        assert times == sorted(times)


def test_the_periods_follow_each_other_without_a_gap(demo: Demo) -> None:
    for aircraft in Aircraft.objects.all():
        periods = list(aircraft.assessment_periods.order_by("shown_from"))
        assert [earlier.shown_to for earlier, _later in pairwise(periods)] == [one.shown_from for one in periods[1:]]
        assert periods[-1].shown_to is None


def is_of_today(instant: datetime, aircraft: Aircraft, demo: Demo) -> bool:
    zone = aircraft.club.time_zone
    return flying_day(instant, zone) == flying_day(demo.now, zone)


def test_todays_inspections_were_begun_and_completed_today(demo: Demo) -> None:
    dailies = Inspection.objects.filter(kind="daily").select_related("aircraft__club")
    fresh = [one for one in dailies if is_of_today(one.completed_at, one.aircraft, demo)]
    ready = [registration for registration, (_status, is_ready, _reasons) in STATES.items() if is_ready]
    assert sorted(one.aircraft.registration for one in fresh) == ready
    assert all(one.complete and is_of_today(one.started_at, one.aircraft, demo) for one in fresh)
