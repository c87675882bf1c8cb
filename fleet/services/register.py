"""Aircraft types, items, aircraft and documents: what the technical officer keeps."""

from collections.abc import Mapping
from copy import copy
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Model

from fleet import assessment, events
from fleet.airworthiness import registration as marks
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, NotFound, invalid
from fleet.models import Aircraft, AircraftType, Attachment, Club, Document, Item, Membership
from fleet.permissions import KEEPERS, require_role, today_in
from fleet.services.instants import require_past


def _entry(
    kind: str,
    subject: Model,
    subject_type: str,
    by: Membership,
    at: datetime,
    data: Mapping[str, Any],
) -> events.Entry:
    return events.Entry(
        kind=kind,
        at=at,
        by=by,
        subject_type=subject_type,
        subject_id=subject.pk,
        data=data,
    )


def apply_changes(record: Model, changes: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Set the fields that differ and save; what they were and what they are, for the event."""
    differing = {
        name: {"before": getattr(record, name), "after": value}
        for name, value in changes.items()
        if getattr(record, name) != value
    }
    for name in differing:
        setattr(record, name, changes[name])
    if differing:
        record.save(update_fields=list(differing))
    return differing


@transaction.atomic
def add_type(*, by: Membership, at: datetime, type_id: UUID | None = None, **fields: Any) -> AircraftType:
    """A new aircraft type. Fields: designation, manufacturer, category, seats."""
    require_role(by, KEEPERS, "add aircraft types")
    aircraft_type = AircraftType.objects.create(id=type_id or uuid4(), club_id=by.club_id, created_at=at, **fields)
    events.append_for_club(
        by.club,
        [_entry("aircraft_type_add", aircraft_type, "aircraft_type", by, at, fields)],
    )
    return aircraft_type


@transaction.atomic
def change_type(
    aircraft_type: AircraftType,
    *,
    by: Membership,
    at: datetime,
    changes: Mapping[str, Any],
) -> AircraftType:
    """Change a locked type's own fields. Its category stays: authorisations are scoped by it."""
    require_role(by, KEEPERS, "change aircraft types")
    done = apply_changes(aircraft_type, changes)
    if done:
        events.append_for_club(
            by.club,
            [_entry("aircraft_type_change", aircraft_type, "aircraft_type", by, at, done)],
        )
    return aircraft_type


@transaction.atomic
def add_item(
    *,
    aircraft_type: AircraftType,
    by: Membership,
    at: datetime,
    item_id: UUID | None = None,
    **fields: Any,
) -> Item:
    """A new item of a type's catalogue; it enters a route with the next version of a sheet."""
    require_role(by, KEEPERS, "add items")
    item = Item(id=item_id or uuid4(), aircraft_type=aircraft_type, created_at=at, **fields)
    _check_item(item)
    item.save(force_insert=True)
    data = {"aircraft_type": aircraft_type.designation, **fields}
    events.append_for_club(by.club, [_entry("item_add", item, "item", by, at, data)])
    return item


def _check_item(item: Item) -> None:
    if item.critical and item.deferrable:
        raise invalid("/deferrable", "critical", "A critical item is never deferrable.")
    if bool(item.quantity) != bool(item.unit):
        raise invalid("/unit", "pair", "Give quantity and unit together, or neither.")
    if not item.quantity and (item.minimum is not None or item.maximum is not None):
        raise invalid("/quantity", "required", "Limits need a quantity and a unit.")
    if item.minimum is not None and item.maximum is not None and item.maximum < item.minimum:
        raise invalid("/maximum", "out_of_order", "The maximum lies below the minimum.")
    if item.ballast and not item.quantity:
        raise invalid(
            "/quantity",
            "required",
            "A ballast item records an amount: give quantity and unit.",
        )


RELAXATIONS = {
    "critical": True,
    "two_person": True,
    "ballast": True,
    "deferrable": False,
}  # the stricter value of each


def _with(item: Item, changes: Mapping[str, Any]) -> Item:
    """A copy, to be checked before anything is written: a database constraint cannot say which field is wrong."""
    wanted = copy(item)
    for name, value in changes.items():
        setattr(wanted, name, value)
    return wanted


def _relaxes(item: Item, changes: Mapping[str, Any]) -> bool:
    return any(
        name in changes and getattr(item, name) == strict and changes[name] != strict
        for name, strict in RELAXATIONS.items()
    )


def _may_have_defects(aircraft: Aircraft) -> bool:
    """An aircraft that could not be judged may have any number."""
    state = aircraft.airworthiness
    return state.open_defects > 0 or any(reason["rule"] == "rule_error" for reason in state.reasons)


@transaction.atomic
def change_item(item: Item, *, by: Membership, at: datetime, changes: Mapping[str, Any]) -> Item:
    """Change an item as it is classified from now on; every aircraft of the type is judged anew.

    It is never relaxed while any aircraft of the type is under a reason about a defect: that would lift the reason
    past the inspector. Published sheets keep the words and limits that they were published with.
    """
    require_role(by, KEEPERS, "change items")
    of_type = Aircraft.objects.filter(aircraft_type_id=item.aircraft_type_id)
    fleet = assessment.lock_many(of_type, at=at)
    item = Item.objects.select_for_update().get(id=item.id)
    if _relaxes(item, changes) and any(_may_have_defects(one) for one in fleet):
        raise Conflict(
            "open_defects",
            "An aircraft of this type has open defects: the item can be made stricter now, and less strict once they are closed.",
        )
    _check_item(_with(item, changes))
    done = apply_changes(item, changes)
    if done:
        entry = _entry("item_change", item, "item", by, at, {"item": item.code, **done})
        events.append_for_club(by.club, [entry])
        assessment.conclude(fleet, at=at, entries={one.id: [entry] for one in fleet})
    return item


def _check_mark(mark: str) -> None:
    problems = marks.validate(mark)
    if problems:
        raise invalid("/registration", "registration", " ".join(problems))


@transaction.atomic
def add_aircraft(
    *,
    aircraft_type: AircraftType,
    by: Membership,
    at: datetime,
    registration: str,
    serial_number: str,
    base: str = "",
    aircraft_id: UUID | None = None,
) -> tuple[Aircraft, Verdict]:
    """A new aircraft. It shows as grounded until its required documents are there."""
    require_role(by, KEEPERS, "add aircraft")
    _check_mark(registration)
    # settings that are being changed would judge every aircraft but this one, which nobody else sees yet
    Club.objects.select_for_update(no_key=True).get(id=by.club_id)
    aircraft = Aircraft.objects.create(
        id=aircraft_id or uuid4(),
        club_id=by.club_id,
        aircraft_type=aircraft_type,
        registration=registration,
        serial_number=serial_number,
        base=base,
        created_at=at,
    )
    data = {
        "registration": registration,
        "serial_number": serial_number,
        "aircraft_type": aircraft_type.designation,
        "base": base,
    }
    return aircraft, assessment.begin(
        aircraft,
        at=at,
        entries=[_entry("aircraft_add", aircraft, "aircraft", by, at, data)],
    )


@transaction.atomic
def change_aircraft(
    aircraft: Aircraft, *, by: Membership, at: datetime, changes: Mapping[str, Any]
) -> tuple[Aircraft, Verdict]:
    """Change a locked aircraft's registration, serial number or base. Its type stays: its record hangs on the type's items."""
    require_role(by, KEEPERS, "change aircraft")
    if "registration" in changes:
        _check_mark(changes["registration"])
    done = apply_changes(aircraft, changes)
    entries = [_entry("aircraft_change", aircraft, "aircraft", by, at, done)] if done else []
    return aircraft, assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]


def _attachment(aircraft: Aircraft, attachment_id: UUID | None) -> Attachment | None:
    if attachment_id is None:
        return None
    found = Attachment.objects.filter(aircraft=aircraft, id=attachment_id).first()
    if found is None:
        raise invalid(
            "/attachment",
            "unknown_attachment",
            "This names no attachment of this aircraft.",
        )
    return found


def _check_dates(issued_on: date, expires_on: date | None, *, today: date) -> None:
    if issued_on > today:  # it would count from now on, before it exists
        raise invalid(
            "/issued_on", "in_future", "This day has not come yet. Give the day of issue printed on the document."
        )
    if expires_on is not None and expires_on < issued_on:
        raise invalid("/expires_on", "out_of_order", "The expiry lies before the issue.")


@transaction.atomic
def add_document(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    issued_on: date,
    expires_on: date | None = None,
    reference: str = "",
    attachment: UUID | None = None,
    document_id: UUID | None = None,
) -> tuple[Document, Verdict]:
    """Record a document with the expiry printed on it."""
    require_role(by, KEEPERS, "record documents")
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    _check_dates(issued_on, expires_on, today=today_in(aircraft.club, at))
    document = Document.objects.create(
        id=document_id or uuid4(),
        aircraft=aircraft,
        kind=kind,
        reference=reference,
        issued_on=issued_on,
        expires_on=expires_on,
        attachment=_attachment(aircraft, attachment),
        recorded_by=by,
        recorded_at=at,
    )
    data = {
        "kind": kind,
        "reference": reference,
        "issued_on": issued_on,
        "expires_on": expires_on,
        "attachment": attachment,
    }
    entry = _entry("document_add", document, "document", by, at, data)
    return document, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


def lock_document(document_id: UUID | str, *, by: Membership, at: datetime) -> tuple[Aircraft, Document]:
    """The document and its locked aircraft."""
    document = Document.objects.filter(id=document_id, aircraft__club_id=by.club_id).first()
    if document is None:
        raise NotFound("document_not_found", "There is no such document in your club.")
    aircraft = assessment.lock(document.aircraft_id, club_id=by.club_id, at=at)
    return aircraft, Document.objects.get(id=document.id)


@transaction.atomic
def change_document(
    aircraft: Aircraft,
    document: Document,
    *,
    by: Membership,
    at: datetime,
    changes: Mapping[str, Any],
) -> tuple[Document, Verdict]:
    """Correct or withdraw a document of a locked aircraft; the event keeps what it said before."""
    require_role(by, KEEPERS, "change documents")
    require_past(at=at, withdrawn_at=changes.get("withdrawn_at"))
    if document.withdrawn_at is not None:
        raise Conflict(
            "withdrawn",
            "This document was withdrawn. Record the new one.",
            {"withdrawn_at": document.withdrawn_at},
        )
    issued_on, expires_on = (changes.get(name, getattr(document, name)) for name in ("issued_on", "expires_on"))
    _check_dates(issued_on, expires_on, today=today_in(aircraft.club, at))
    done = apply_changes(document, changes)
    entries = (
        [
            _entry(
                "document_change",
                document,
                "document",
                by,
                at,
                {"kind": document.kind, **done},
            )
        ]
        if done
        else []
    )
    return document, assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]
