"""For every model one row that the database accepts, built by hand past the services, so that one thing in it can be wrong."""

from collections.abc import Callable
from datetime import date, timedelta
from itertools import count
from typing import Any

from django.db.models import Model

from defects import models as of_defects
from fleet import models as of_fleet
from fleet.models import Aircraft, AircraftType, Club, Item, Membership, Person
from inspections import models as of_inspections
from inspections.models import Inspection, SheetLine
from tests.factories import CRITICAL, NOW

Row = dict[str, Any]
Broken = Row | Callable[[Row], Row]  # what is changed in an accepted row, perhaps by looking at it
_numbers = count(1)


def a_name() -> str:
    return f"row-{next(_numbers)}"


def club() -> Club:
    return Club.objects.create(name=a_name())


def member() -> Membership:
    return Membership.objects.select_related("club").order_by("id")[0]


def aircraft() -> Aircraft:
    """The one with a history."""
    return Aircraft.objects.order_by("created_at")[0]


def bare_aircraft() -> Aircraft:
    one = aircraft()
    words = {"registration": a_name().upper(), "serial_number": a_name()}
    return Aircraft.objects.create(club=one.club, aircraft_type=one.aircraft_type, created_at=NOW, **words)


def shown() -> Row:
    return {"status": "serviceable", "ready_today": False, "reasons": [], "limitations": [], "open_defects": 0}


def inspectable() -> Row:
    return {"code": a_name(), "title": "Odd", "zone": "tail", "critical": False}


def defect_row() -> Row:
    return {
        "aircraft": aircraft(),
        "number": next(_numbers) + 1000,
        "item": Item.objects.get(code=CRITICAL),
        "description": "Odd.",
        "found_at": NOW,
        "found_during": "flight",
        "reported_by": member(),
        "reported_at": NOW,
    }


def defect() -> of_defects.Defect:
    return of_defects.Defect.objects.create(**defect_row())


def deferral_row() -> Row:
    return {
        "defect": defect(),
        "until_date": date(2025, 6, 1),
        "limitations": ["day only"],
        "basis": "policy",
        "justification": "Small.",
        "first_identified_at": NOW,
        "deferred_by": member(),
        "deferred_at": NOW,
    }


def deferral() -> of_defects.Deferral:
    return of_defects.Deferral.objects.create(**deferral_row())


def work_row() -> Row:
    who = member()
    return {
        "defect": defect(),
        "work_done": "Taped.",
        "data_used": "Manual",
        "on_critical_item": False,
        "performed_by": who,
        "performed_at": NOW,
        "supervised_by": who,
        "recorded_by": who,
        "recorded_at": NOW,
    }


def work() -> of_defects.Rectification:
    return of_defects.Rectification.objects.create(**work_row())


def check_row() -> Row:
    done = work()
    other = Membership.objects.exclude(id=done.performed_by_id).order_by("id")[0]
    return {
        "rectification": done,
        "outcome": "accepted",
        "remark": "Sound.",
        "inspected_by": other,
        "inspected_at": NOW,
        "worked_by": done.performed_by,
        "supervised_by": done.supervised_by,
    }


def release_row() -> Row:
    done = work()
    return {
        "defect": done.defect,
        "rectification": done,
        "authorisation": of_fleet.Authorisation.objects.order_by("id")[0],
        "statement": "Done.",
        "printed_name": "Ada Invented",
        "licence_number": "ZZ.66.1",
        "released_by": member(),
        "released_at": NOW,
        "record": "{}",
        "record_hash": "0" * 64,
    }


def sheet_row() -> Row:
    return {
        "aircraft_type": aircraft().aircraft_type,
        "kind": "periodic",
        "version": next(_numbers),
        "title": "Long walk",
        "published_by": member(),
        "published_at": NOW,
    }


def sheet() -> of_inspections.Sheet:
    return of_inspections.Sheet.objects.create(**sheet_row())


def line_row() -> Row:
    """On a sheet of its own."""
    return inspectable() | {"sheet": sheet(), "item": Item.objects.get(code=CRITICAL), "position": next(_numbers)}


def inspection_row() -> Row:
    return {
        "aircraft": aircraft(),
        "kind": "daily",
        "sheet": sheet(),
        "inspected_by": member(),
        "started_at": NOW - timedelta(minutes=20),
        "completed_at": NOW,
        "recorded_at": NOW,
        "complete": True,
    }


def inspection() -> Inspection:
    return Inspection.objects.create(**inspection_row())


def occurrence_row() -> Row:
    return {
        "aircraft": aircraft(),
        "kind": "lightning",
        "occurred_at": NOW,
        "description": "A flash.",
        "reported_by": member(),
        "reported_at": NOW,
        "report_due_at": NOW,
    }


def occurrence() -> of_inspections.Occurrence:
    return of_inspections.Occurrence.objects.create(**occurrence_row())


def attachment_row() -> Row:
    return {
        "club": aircraft().club,
        "aircraft": aircraft(),
        "content_type": "image/png",
        "size_bytes": 1,
        "sha256": "0" * 64,
        "uploaded_by": member(),
        "uploaded_at": NOW,
    }


def event_row() -> Row:
    chain = of_fleet.EventChain.objects.create(club=club())
    where: Row = {"club": chain.club, "chain": chain, "sequence": 1}
    what: Row = {"kind": "odd", "subject_type": "club", "subject_id": chain.club_id}
    return where | what | {"recorded_at": NOW, "canonical": "{}", "hash": "0" * 64}


def authorisation_row() -> Row:
    return {
        "membership": member(),
        "licence_number": "ZZ.66.1",
        "privileges": ["release"],
        "categories": ["sailplane"],
        "valid_from": date(2025, 1, 1),
        "valid_until": date(2025, 12, 31),
        "issued_by": "Invented Authority",
    }


def person() -> Person:
    return Person.objects.create(username=a_name(), full_name="Row Invented")


def type_row() -> Row:
    return {
        "club": aircraft().club,
        "designation": a_name(),
        "manufacturer": "Invented Works",
        "category": "aeroplane",
        "created_at": NOW,
    }


def notification_row() -> Row:
    who = member()
    return {
        "club": who.club,
        "recipient": who,
        "kind": "odd",
        "key": a_name(),
        "message": "Odd.",
        "created_at": NOW,
    }


ROWS: dict[type[Model], Callable[[], Row]] = {
    Club: lambda: {"name": a_name()},
    Person: lambda: {"username": a_name(), "full_name": "Row Invented"},
    Membership: lambda: {"club": aircraft().club, "person": person(), "roles": ["pilot"], "joined_at": NOW},
    of_fleet.Authorisation: authorisation_row,
    of_fleet.ApiToken: lambda: {
        "membership": member(),
        "name": "phone",
        "digest": a_name(),
        "created_at": NOW,
        "expires_at": NOW + timedelta(days=1),
    },
    of_fleet.IdempotencyRecord: lambda: {
        "club": aircraft().club,
        "key": a_name(),
        "fingerprint": "0" * 64,
        "status": 201,
        "headers": {},
        "body": b"{}",
        "created_at": NOW,
    },
    AircraftType: type_row,
    Item: lambda: inspectable() | {"aircraft_type": aircraft().aircraft_type, "created_at": NOW},
    Aircraft: lambda: {
        "club": aircraft().club,
        "aircraft_type": aircraft().aircraft_type,
        "registration": a_name().upper(),
        "serial_number": a_name(),
        "created_at": NOW,
    },
    of_fleet.AirworthinessState: lambda: shown() | {"aircraft": bare_aircraft(), "assessed_at": NOW, "shown_from": NOW},
    of_fleet.AssessmentPeriod: lambda: shown() | {"aircraft": bare_aircraft(), "shown_from": NOW},
    of_fleet.EventChain: lambda: {"club": club()},
    of_fleet.Event: event_row,
    of_fleet.Attachment: attachment_row,
    of_fleet.Document: lambda: {
        "aircraft": aircraft(),
        "kind": "insurance",
        "issued_on": date(2025, 1, 1),
        "recorded_by": member(),
        "recorded_at": NOW,
    },
    of_fleet.Notification: notification_row,
    of_defects.Defect: defect_row,
    of_defects.Triage: lambda: {
        "defect": defect(),
        "assessment": "hazard",
        "justification": "Big.",
        "triaged_by": member(),
        "triaged_at": NOW,
    },
    of_defects.Deferral: deferral_row,
    of_defects.DeferralEnd: lambda: {
        "deferral": deferral(),
        "kind": "withdrawn",
        "past_limit": False,
        "ended_by": member(),
        "ended_at": NOW,
    },
    of_defects.Rectification: work_row,
    of_defects.IndependentInspection: check_row,
    of_defects.Release: release_row,
    of_inspections.Sheet: sheet_row,
    SheetLine: line_row,
    of_inspections.Occurrence: occurrence_row,
    of_inspections.RiggingEvent: lambda: {
        "aircraft": aircraft(),
        "kind": "rigged",
        "occurred_at": NOW,
        "recorded_by": member(),
        "recorded_at": NOW,
    },
    Inspection: inspection_row,
    of_inspections.InspectionResult: lambda: {
        "inspection": inspection(),
        "line": SheetLine.objects.create(**line_row()),
        "outcome": "satisfactory",
    },
}
