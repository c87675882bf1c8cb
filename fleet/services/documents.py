"""Documents of an aircraft, with the expiry that is printed on them."""

from collections.abc import Mapping
from copy import copy
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment, events
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, NotFound, invalid
from fleet.models import Aircraft, Attachment, Document, Membership
from fleet.permissions import KEEPERS, require_role, today_in
from fleet.services import certificates
from fleet.services.instants import require_past
from fleet.services.register import apply_changes

LAST_YEAR = 9000  # a later one is a typing error; a document without expiry has none
DATES = frozenset({"issued_on", "expires_on"})


def _entry(kind: str, document: Document, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    return events.Entry(kind=kind, at=at, by=by, subject_type="document", subject_id=document.id, data=data)


def _attachment(aircraft: Aircraft, attachment_id: UUID | None) -> Attachment | None:
    if attachment_id is None:
        return None
    found = Attachment.objects.filter(aircraft=aircraft, id=attachment_id).first()
    if found is None:
        raise invalid("/attachment", "unknown_attachment", "This names no attachment of this aircraft.")
    return found


def _check_dates(issued_on: date, expires_on: date | None, *, today: date) -> None:
    if issued_on > today:  # it would count from now on, before it exists
        raise invalid(
            "/issued_on", "in_future", "This day has not come yet. Give the day of issue printed on the document."
        )
    if expires_on is not None and expires_on < issued_on:
        raise invalid("/expires_on", "out_of_order", "The expiry lies before the issue.")
    if expires_on is not None and expires_on.year > LAST_YEAR:
        raise invalid("/expires_on", "too_late", "Check the year. Leave the expiry out if none is printed.")


@transaction.atomic
def add(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    issued_on: date,
    expires_on: date | None = None,
    reference: str = "",
    attachment: UUID | None = None,
    extends: UUID | None = None,
    document_id: UUID | None = None,
) -> tuple[Document, Verdict]:
    """Record a document with the expiry printed on it; ``extends`` names the review certificate that it extends."""
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
        extends=certificates.extended_by(aircraft, extends, kind=kind, issued_on=issued_on, expires_on=expires_on),
        recorded_by=by,
        recorded_at=at,
    )
    names = ("kind", "reference", "issued_on", "expires_on", "attachment_id", "extends_id")
    data = {name.removesuffix("_id"): getattr(document, name) for name in names}
    entry = _entry("document_add", document, by, at, data)
    return document, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


def lock(document_id: UUID | str, *, by: Membership, at: datetime) -> tuple[Aircraft, Document]:
    """The document and its locked aircraft."""
    document = Document.objects.filter(id=document_id, aircraft__club_id=by.club_id).first()
    if document is None:
        raise NotFound("document_not_found", "There is no such document in your club.")
    aircraft = assessment.lock(document.aircraft_id, club_id=by.club_id, at=at)
    return aircraft, Document.objects.get(id=document.id)


def _check_changes(document: Document, changes: Mapping[str, Any], *, today: date) -> None:
    if document.withdrawn_at is not None:
        raise Conflict(
            "withdrawn", "This document was withdrawn. Record the new one.", {"withdrawn_at": document.withdrawn_at}
        )
    wanted = copy(document)
    for name, value in changes.items():
        setattr(wanted, name, value)
    _check_dates(wanted.issued_on, wanted.expires_on, today=today)
    if DATES & changes.keys() and wanted.withdrawn_at is None:
        certificates.check_corrected(wanted)


@transaction.atomic
def change(
    aircraft: Aircraft, document: Document, *, by: Membership, at: datetime, changes: Mapping[str, Any]
) -> tuple[Document, Verdict]:
    """Correct or withdraw a document of a locked aircraft; the event keeps what it said before.

    With a certificate, its extensions are withdrawn.
    """
    require_role(by, KEEPERS, "change documents")
    require_past(at=at, withdrawn_at=changes.get("withdrawn_at"))
    _check_changes(document, changes, today=today_in(aircraft.club, at))
    hanging = list(certificates.following(document)) if "withdrawn_at" in changes else []
    done = {document: apply_changes(document, changes)}
    done |= {one: apply_changes(one, {"withdrawn_at": changes["withdrawn_at"]}) for one in hanging}
    entries = [_entry("document_change", one, by, at, {"kind": one.kind, **told}) for one, told in done.items() if told]
    return document, assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]
