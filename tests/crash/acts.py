"""Every act of every service, ready to be done once: from a scene in which each of them is possible."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from defects.models import Defect
from defects.services import decisions, reports, work
from defects.services import upkeep as defect_upkeep
from fleet import assessment
from fleet.models import Aircraft, AircraftType, Authorisation, Club, Document, Item, Membership, Privilege, Role
from fleet.services import people, register, upkeep
from fleet.services.content.accepted import Content
from inspections.models import Occurrence
from inspections.services import attachments, events, records, sheets
from inspections.services import upkeep as inspection_upkeep
from tests import factories
from tests.factories import CRITICAL, MEASURED, NOW, PASSWORD, PLAIN

HOUR = timedelta(hours=1)
AT = NOW + 2 * HOUR  # when the act is done
TOMORROW = NOW + timedelta(days=1)
LATER = NOW + timedelta(days=2)  # when the job runs: the deferral has ended, the day is over
STATES = ("reported", "assessed", "deferred", "rectified", "inspected")
Act = Callable[[], object]
FIXED = UUID("aaaaaaaa-aaaa-4aaa-8aaa-aaaaaaaaaaaa")  # of what is created, so that a second try makes the same


def lay_scene() -> None:
    """An aircraft with a defect in each state, one hurt and one rigged; everybody who is needed."""
    club = factories.ClubFactory.create()
    for role in (Role.PILOT, Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR):
        factories.MemberFactory.create(club=club, roles=[role])
    for _ in range(2):
        factories.InspectorFactory.create(club=club)
    aircraft = factories.make_aircraft(club, ballast=True, inspected_at=NOW - HOUR)
    factories.make_aircraft(club, aircraft_type=aircraft.aircraft_type)
    for state in STATES:
        factories_by_state[state](aircraft)
    pilot = factories.member_of(club, Role.PILOT)
    events.report_occurrence(
        aircraft_id=aircraft.id, by=pilot, at=NOW, kind="hail", occurred_at=NOW, description="Dents."
    )
    factories.rig(aircraft, at=NOW)
    walked = factories.make_aircraft(club, aircraft_type=aircraft.aircraft_type, inspected_at=NOW)
    with transaction.atomic():  # its day is over, and it was noticed
        assessment.lock(walked.id, club_id=club.id, at=TOMORROW)


factories_by_state: Mapping[str, Callable[[Aircraft], Defect]] = {
    "reported": factories.reported,
    "assessed": factories.assessed,
    "deferred": lambda aircraft: factories.deferred(aircraft, days=1),
    "rectified": lambda aircraft: factories.rectified(aircraft, critical=True),
    "inspected": lambda aircraft: factories.inspected(aircraft, critical=True),
}


class Cast:
    """Who and what the acts are about, read from the scene."""

    def __init__(self) -> None:
        self.aircraft = Aircraft.objects.select_related("club", "aircraft_type").get(defects__number=1)
        self.club = self.aircraft.club
        numbered = {defect.number: defect.id for defect in Defect.objects.all()}
        self.defects = {state: numbered[number] for number, state in enumerate(STATES, start=1)}
        self.pilot, self.officer, self.administrator, self.inspector = (
            factories.member_of(self.club, role)
            for role in (Role.PILOT, Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR, Role.INSPECTOR)
        )
        self.other = factories.member_of(self.club, Role.INSPECTOR, other_than={self.inspector.id})

    def on(self, state: str, by: Membership) -> dict[str, Any]:
        return {"defect_id": self.defects[state], "by": by, "at": AT}


def defect_acts(cast: Cast) -> dict[str, Act]:
    """Reports and acts on defects."""
    repair: dict[str, Any] = {"work_done": "Repaired.", "data_used": "Manual", "performed_at": AT}
    return {
        "report": lambda: reports.report(
            aircraft_id=cast.aircraft.id,
            by=cast.pilot,
            at=AT,
            description="Torn.",
            found_at=AT,
            item_code=CRITICAL,
            defect_id=FIXED,
        ),
        "triage": lambda: decisions.triage(
            **cast.on("reported", cast.inspector), assessment="hazard", justification="Seen.", item_code=CRITICAL
        ),
        "defer": lambda: decisions.defer(
            **cast.on("assessed", cast.officer),
            limitations=["none"],
            basis="policy",
            justification="x",
            until_date=date(2025, 6, 1),
        ),
        "withdraw": lambda: decisions.withdraw_deferral(**cast.on("deferred", cast.officer), justification="Changed."),
        "rectify": lambda: work.rectify(**cast.on("deferred", cast.inspector), **repair),
        "accept": lambda: work.inspect_independently(
            **cast.on("rectified", cast.other), outcome="accepted", remark="x"
        ),
        "reject": lambda: work.inspect_independently(
            **cast.on("rectified", cast.other), outcome="rejected", remark="x"
        ),
        "release": lambda: work.release(
            **cast.on("inspected", cast.inspector), reauthenticated=True, statement_accepted=True
        ),
    }


def inspection_acts(cast: Cast) -> dict[str, Act]:
    """Inspections, what calls for them, and a photo."""
    lines = cast.aircraft.aircraft_type.sheets.get(kind="daily")
    bad: dict[str, Any] = {"main_tyre_pressure": {"value": Decimal(9)}, "sealing_tape": {"description": "Loose."}}
    common: dict[str, Any] = {"aircraft_id": cast.aircraft.id, "at": AT, "started_at": AT - HOUR, "completed_at": AT}
    common |= {"second_person": cast.other.id, "inspection_id": FIXED}
    good, found = factories.complete_results(lines), factories.complete_results(lines, **bad)
    hail = Occurrence.objects.get().id
    photo = Content(data=b"a photo", content_type="image/png", width=1, height=1)
    happened: dict[str, Any] = {"aircraft_id": cast.aircraft.id, "by": cast.pilot, "at": AT, "occurred_at": AT}
    return {
        "daily": lambda: records.record(**common, by=cast.pilot, kind="daily", results=found),
        "after rigging": lambda: records.record(**common, by=cast.pilot, kind="after_rigging", results=good),
        "unscheduled": lambda: records.record(
            **common,
            by=cast.inspector,
            kind="unscheduled",
            results=good,
            occurrence_id=hail,
        ),
        "rig": lambda: events.record_rigging(**happened, kind="rigged", event_id=FIXED),
        "occurrence": lambda: events.report_occurrence(
            **happened, kind="hail", description="Dents.", occurrence_id=FIXED
        ),
        "attach": lambda: attachments.attach(
            content=photo, by=cast.pilot, at=AT, defect_id=cast.defects["reported"], attachment_id=FIXED
        ),
        "publish sheet": lambda: sheets.publish(
            aircraft_type_id=cast.aircraft.aircraft_type_id,
            by=cast.officer,
            at=AT,
            kind="daily",
            title="x",
            codes=[PLAIN],
        ),
    }


def _change_document(cast: Cast) -> object:
    first = Document.objects.filter(aircraft=cast.aircraft).order_by("kind")[0]
    aircraft, document = register.lock_document(first.id, by=cast.officer, at=AT)
    return register.change_document(aircraft, document, by=cast.officer, at=AT, changes={"withdrawn_at": AT})


def register_acts(cast: Cast) -> dict[str, Act]:
    """What the officer keeps."""
    by: dict[str, Any] = {"by": cast.officer, "at": AT}
    of_type = cast.aircraft.aircraft_type
    item: dict[str, Any] = {"code": "new", "title": "New", "zone": "wing", "critical": False}
    return {
        "add document": lambda: register.add_document(
            aircraft_id=cast.aircraft.id, **by, kind="insurance", issued_on=date(2025, 1, 1), document_id=FIXED
        ),
        "change document": lambda: _change_document(cast),
        "add type": lambda: register.add_type(
            **by, designation="New", manufacturer="x", category="sailplane", type_id=FIXED
        ),
        "change type": lambda: register.change_type(
            AircraftType.objects.get(id=of_type.id), **by, changes={"seats": 1}
        ),
        "add item": lambda: register.add_item(aircraft_type=of_type, **by, **item, item_id=FIXED),
        "change item": lambda: register.change_item(
            Item.objects.get(aircraft_type=of_type, code=MEASURED),
            **by,
            changes={"critical": True, "deferrable": False},
        ),
        "add aircraft": lambda: register.add_aircraft(
            aircraft_type=of_type, **by, registration="ZZ-NEW", serial_number="new", aircraft_id=FIXED
        ),
        "change aircraft": lambda: register.change_aircraft(
            assessment.lock(cast.aircraft.id, club_id=cast.club.id, at=AT), **by, changes={"base": "East"}
        ),
    }


def people_acts(cast: Cast) -> dict[str, Act]:
    """What the administrator keeps."""
    by: dict[str, Any] = {"by": cast.administrator, "at": AT}
    held = Authorisation.objects.filter(membership=cast.inspector)
    licence: dict[str, Any] = {"licence_number": "ZZ.1", "privileges": [Privilege.RELEASE], "categories": ["sailplane"]}
    licence |= {"valid_from": date(2025, 1, 1), "valid_until": date(2026, 1, 1), "issued_by": "x"}
    return {
        "enrol": lambda: people.enrol(
            club=cast.club,
            **by,
            username="new",
            full_name="New Person",
            roles=[Role.PILOT],
            password=PASSWORD,
            member_id=FIXED,
        ),
        "change member": lambda: people.change_member(
            Membership.objects.get(id=cast.pilot.id), **by, changes={"roles": [Role.AUDITOR], "full_name": "Other"}
        ),
        "authorise": lambda: people.authorise(member=cast.officer, **by, **licence, authorisation_id=FIXED),
        "end authorisation": lambda: people.change_authorisation(held[0], **by, changes={"revoked": True}),
        "change settings": lambda: people.change_settings(
            Club.objects.get(id=cast.club.id), **by, changes={"required_documents": ["radio_licence"]}
        ),
    }


JOBS: Mapping[str, Act] = {
    "reassess": lambda: upkeep.reassess_due(LATER),
    "self-check": lambda: upkeep.reassess_everything(LATER),
    "expire deferrals": lambda: defect_upkeep.expire_deferrals(LATER),
    "flag deferrals": lambda: defect_upkeep.flag_deferrals(NOW),
    "flag dailies": lambda: upkeep.flag_lapsed_dailies(TOMORROW),
    "flag occurrences": lambda: inspection_upkeep.flag_occurrences(NOW),
}


def acts_of(cast: Cast) -> dict[str, Act]:
    """Every act by its name, jobs included."""
    return {**defect_acts(cast), **inspection_acts(cast), **register_acts(cast), **people_acts(cast), **JOBS}


NAMES = (
    "report", "triage", "defer", "withdraw", "rectify", "accept", "reject", "release", "daily", "after rigging",
    "unscheduled", "rig", "occurrence", "attach", "publish sheet", "add document", "change document", "add type",
    "change type", "add item", "change item", "add aircraft", "change aircraft", "enrol", "change member", "authorise",
    "end authorisation", "change settings", *JOBS,
)  # fmt: skip
