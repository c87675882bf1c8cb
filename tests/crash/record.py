"""A club in whose record every append-only table has a row."""

from datetime import timedelta
from typing import Any

from defects.models import DefectAttachment
from defects.services import upkeep
from fleet.models import Aircraft, Attachment, Club, Membership, Role
from fleet.services import overhauls
from inspections.models import InspectionAttachment
from inspections.services import directives, events
from tests.factories import (
    NOW,
    ClubFactory,
    MemberFactory,
    complete_results,
    deferred,
    fitter_of,
    inspect,
    make_aircraft,
    make_component,
    make_kind,
    member_of,
    publish_sheet,
    released,
    rig,
)
from tests.factories.programme import complied, make_directive, make_task
from tests.factories.usage import flown, opened

DAY = timedelta(days=1)


def _attachment(aircraft: Aircraft, by: Membership) -> Attachment:
    fields: dict[str, Any] = {"content_type": "image/png", "size_bytes": 1, "sha256": "0" * 64, "uploaded_at": NOW}
    return Attachment.objects.create(club=aircraft.club, aircraft=aircraft, uploaded_by=by, **fields)


def _keep_going(aircraft: Aircraft) -> None:
    """Continuing airworthiness: usage, an overhaul, work done, a directive decided upon."""
    opened(aircraft)
    flown(aircraft)
    club, officer = aircraft.club, fitter_of(aircraft.club)
    component = make_component(make_kind(club))
    overhauls.record(component_id=component.id, by=officer, at=NOW, done_on=NOW.date(), release_document="Form 1")
    complied(make_task(aircraft, at=NOW), aircraft, on=NOW.date(), at=NOW)
    directive = make_directive(club, at=NOW, effective_on=NOW.date(), aircraft_types=[aircraft.aircraft_type])
    directives.assess_directive(
        directive=directive,
        aircraft_id=aircraft.id,
        by=officer,
        at=NOW,
        decision="not_applicable",
        reason="Other spar.",
    )


def keep_a_record() -> Club:
    """Two aircraft whose chains differ in length, and a second club that must not matter."""
    club = ClubFactory.create()
    pilot = MemberFactory.create(club=club, roles=[Role.PILOT])
    aircraft, other = make_aircraft(club), make_aircraft(club)
    _keep_going(aircraft)
    released(aircraft, critical=True)
    found = complete_results(publish_sheet(aircraft.aircraft_type), sealing_tape={"description": "Loose."})
    walk = inspect(aircraft, at=NOW + timedelta(hours=1), by=pilot, results=found)
    DefectAttachment.objects.create(defect=walk.defects[0], attachment=_attachment(aircraft, pilot))
    InspectionAttachment.objects.create(inspection=walk.inspection, attachment=_attachment(aircraft, pilot))
    rig(other, at=NOW)
    events.report_occurrence(
        aircraft_id=other.id, by=pilot, at=NOW, kind="hail", occurred_at=NOW, description="Dents everywhere."
    )
    member_of(club, Role.TECHNICAL_OFFICER)
    deferred(other, at=NOW + timedelta(hours=1), days=1)
    upkeep.flag_deferrals(NOW + DAY)
    upkeep.expire_deferrals(NOW + 3 * DAY)
    released(make_aircraft(ClubFactory.create()))
    return club
