"""Rigging events and occurrences: what calls for an inspection."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment
from fleet.airworthiness.limits import occurrence_report_deadline
from fleet.airworthiness.verdict import Verdict
from fleet.events import Entry
from fleet.models import Membership
from fleet.permissions import MEMBERS_WHO_WRITE, WALKERS, require_role
from fleet.services.instants import require_past
from inspections.models import Occurrence, RiggingEvent


@transaction.atomic
def record_rigging(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    occurred_at: datetime,
    event_id: UUID | None = None,
) -> tuple[RiggingEvent, Verdict]:
    """Record that the aircraft was rigged or derigged; it grounds until an after-rigging inspection."""
    require_role(by, WALKERS, "record rigging")
    require_past(at=at, occurred_at=occurred_at)
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    rigging = RiggingEvent.objects.create(
        id=event_id or uuid4(),
        aircraft=aircraft,
        kind=kind,
        occurred_at=occurred_at,
        recorded_by=by,
        recorded_at=at,
    )
    entry = Entry(
        kind=f"aircraft_{kind}",
        at=at,
        by=by,
        subject_type="rigging_event",
        subject_id=rigging.id,
        data={"occurred_at": occurred_at},
    )
    return rigging, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


@transaction.atomic
def report_occurrence(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    occurred_at: datetime,
    description: str,
    occurrence_id: UUID | None = None,
) -> tuple[Occurrence, Verdict]:
    """Report an occurrence; it grounds until an inspector's unscheduled inspection answers it."""
    require_role(by, MEMBERS_WHO_WRITE, "report an occurrence")
    require_past(at=at, occurred_at=occurred_at)
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    occurrence = Occurrence.objects.create(
        id=occurrence_id or uuid4(),
        aircraft=aircraft,
        kind=kind,
        occurred_at=occurred_at,
        description=description,
        reported_by=by,
        reported_at=at,
        report_due_at=occurrence_report_deadline(at),
    )
    entry = Entry(
        kind="occurrence_report",
        at=at,
        by=by,
        subject_type="occurrence",
        subject_id=occurrence.id,
        data={"kind": kind, "occurred_at": occurred_at, "description": description},
    )
    return occurrence, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]
