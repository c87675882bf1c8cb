"""The time line of an aircraft over HTTP."""

from datetime import timedelta
from typing import Any

import pytest

from fleet.models import Aircraft, Event, Role
from fleet.services import register
from inspections.sentences import SENTENCES
from inspections.services import events
from tests.api.cast import Cast, change, make_cast
from tests.factories import NOW, deferred, fresh, inspect, make_aircraft, released, rig

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def lived_in(cast: Cast) -> Aircraft:
    """Everything that can happen to an aircraft, an hour after each other."""
    aircraft = make_aircraft(cast.club)
    released(aircraft, critical=True)
    deferred(aircraft, at=NOW + HOUR)
    rig(aircraft, at=NOW + 2 * HOUR)
    inspect(aircraft, "after_rigging", at=NOW + 3 * HOUR)
    inspect(aircraft, at=NOW + 4 * HOUR, results=[])
    occurred = {"kind": "bird_strike", "occurred_at": NOW + 5 * HOUR, "description": "Gull on\nthe left wing."}
    pilot = cast.members[Role.PILOT]
    events.report_occurrence(aircraft_id=aircraft.id, by=pilot, at=NOW + 5 * HOUR, **occurred)  # type: ignore[arg-type]
    register.change_aircraft(
        fresh(aircraft),
        by=cast.members[Role.TECHNICAL_OFFICER],
        at=NOW + 6 * HOUR,
        changes={"base": "West field"},
    )
    return aircraft


def history(cast: Cast, aircraft: Aircraft, query: str = "limit=200") -> list[dict[str, Any]]:
    answer = cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/history?{query}")
    assert answer.status_code == 200, answer.content
    listed: list[dict[str, Any]] = answer.json()["results"]
    return listed


def test_everything_in_the_order_in_which_it_was_recorded(cast: Cast) -> None:
    aircraft = lived_in(cast)
    make_aircraft(cast.club)
    listed = history(cast, aircraft)
    stored = Event.objects.filter(aircraft=aircraft).order_by("sequence").values_list("id", flat=True)
    assert [one["id"] for one in listed] == [str(one) for one in stored]
    assert listed[0]["kind"] == "aircraft_add"
    assert history(cast, aircraft, "limit=200&ordering=-sequence") == listed[::-1]


def test_sentences_say_what_happened(cast: Cast) -> None:
    aircraft = lived_in(cast)
    told = {one["kind"]: one["summary"] for one in history(cast, aircraft)}
    type_name = aircraft.aircraft_type.designation
    expected = {
        "aircraft_add": f"Registered as {aircraft.registration}: type {type_name}, "
        f"serial number {aircraft.serial_number}.",
        "aircraft_change": "Register changed: base from blank to West field.",
        "document_add": "Insurance recorded: issued on 2020-01-01, valid until 2090-12-31.",
        "defect_report": "Defect 2 reported: Something is not as it should be.",
        "defect_triage": "Defect 2 assessed as no hazard: Looked at it.",
        "defect_rectify": "Work on defect 1: Repaired.",
        "defect_independent_inspection": "Work on defect 1 inspected independently and accepted: Checked.",
        "defect_release": "Defect 1 closed by release to service under licence ZZ.66.0001.",
        "aircraft_rigged": "Rigged at 2025-05-14 11:00 UTC.",
        "inspection_after_rigging": "Inspection after rigging, complete.",
        "occurrence_report": "Occurrence at 2025-05-14 14:00 UTC, bird strike: Gull on the left wing.",
    }
    assert {kind: told[kind] for kind in expected} == expected
    assert told["defect_defer"].startswith("Defect 2 deferred until 2025-05-24 with limitations: no aerobatics")
    assert told["inspection_daily"].startswith("Daily inspection, incomplete; missing: ")


def test_every_kind_has_its_sentence(cast: Cast) -> None:
    assert {one["kind"] for one in history(cast, lived_in(cast))} <= SENTENCES.keys()


def test_who_did_it(cast: Cast) -> None:
    aircraft = lived_in(cast)
    officer = cast.members[Role.TECHNICAL_OFFICER]
    (changed,) = history(cast, aircraft, "kind=aircraft_change")
    assert changed["by"] == {"id": str(officer.id), "name": officer.person.full_name}
    assert {one["by"] for one in history(cast, aircraft, "kind=airworthiness_changed")} == {None}


def test_pages_join_without_gap_or_overlap(cast: Cast) -> None:
    aircraft = lived_in(cast)
    listed, address = [], f"/api/v1/aircraft/{aircraft.id}/history?limit=4"
    while address:
        page = cast.pilot.get(address).json()
        listed += page["results"]
        address = page["next"]
    assert listed == history(cast, aircraft)


def test_a_renamed_person_stays_in_the_record_as_named_then(cast: Cast) -> None:
    aircraft = lived_in(cast)
    officer = cast.members[Role.TECHNICAL_OFFICER]
    name = officer.person.full_name
    assert change(cast.administrator, f"/api/v1/members/{officer.id}", {"full_name": "Renamed"}).status_code == 200
    assert history(cast, aircraft, "kind=aircraft_change")[0]["by"]["name"] == name


def test_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    aircraft = lived_in(cast)
    history(cast, aircraft)  # notes the use of the token
    with django_assert_num_queries(3):  # token, aircraft, events
        history(cast, aircraft)
