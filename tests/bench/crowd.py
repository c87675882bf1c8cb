"""A club with long lists, beside another whose rows lie between its own."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from uuid import uuid4

from django.db import transaction

from defects.lifecycle import State
from defects.models import AssessmentCode, Defect, FoundDuring
from fleet import assessment, events
from fleet.models import Aircraft, Role
from inspections.models import Inspection, InspectionKind, RiggingEvent
from inspections.selectors import current_sheet
from tests.bench.volume import Copier
from tests.factories import ClubFactory, make_aircraft, member_of

ROWS = 10_000


def crowded(at: datetime, *, aircraft: int) -> Aircraft:
    """An aircraft with 10,000 defects and 10,000 events in a new club with so many aircraft."""
    made = make_aircraft(ClubFactory.create())
    if aircraft > 1:
        Copier([made], "C").copy(aircraft - 1)
    add_events(made, at)
    add_defects(made, at)
    return made


def _instants(at: datetime) -> Iterator[datetime]:
    """As many as there are rows, forwards in time up to ``at``."""
    return (at - timedelta(minutes=ROWS - n) for n in range(ROWS))


def add_history(aircraft: Aircraft, at: datetime) -> None:
    """10,000 of everything that is recorded of an aircraft day by day."""
    add_events(aircraft, at)
    add_defects(aircraft, at)
    add_inspections(aircraft, at)
    add_rigging(aircraft, at)


def add_inspections(aircraft: Aircraft, at: datetime) -> None:
    """Complete daily ones, without their lines."""
    by = member_of(aircraft.club, Role.PILOT)
    sheet = current_sheet(aircraft.aircraft_type, InspectionKind.DAILY)
    Inspection.objects.bulk_create(
        Inspection(
            aircraft=aircraft,
            kind=InspectionKind.DAILY,
            sheet=sheet,
            inspected_by=by,
            started_at=one - timedelta(seconds=30),
            completed_at=one,
            recorded_at=one,
            complete=True,
        )
        for one in _instants(at)
    )


def add_rigging(aircraft: Aircraft, at: datetime) -> None:
    """Rigged and derigged in turn, in the end derigged."""
    by = member_of(aircraft.club, Role.PILOT)
    kinds = (RiggingEvent.Kind.RIGGED, RiggingEvent.Kind.DERIGGED)
    RiggingEvent.objects.bulk_create(
        RiggingEvent(aircraft=aircraft, kind=kinds[n % 2], occurred_at=one, recorded_by=by, recorded_at=one)
        for n, one in enumerate(_instants(at))
    )


@transaction.atomic
def add_events(aircraft: Aircraft, at: datetime) -> None:
    """A valid chain."""
    by = member_of(aircraft.club, Role.PILOT)
    data = {"number": 1, "description": "Something is not as it should be, and is described in a sentence."}
    (locked,) = assessment.lock_many(Aircraft.objects.filter(id=aircraft.id), at=at)
    entries = [
        events.Entry(kind="defect_report", at=one, by=by, subject_type="defect", subject_id=uuid4(), data=data)
        for one in _instants(at)
    ]
    events.append({locked.event_chain: entries})


def add_defects(aircraft: Aircraft, at: datetime) -> None:
    """Closed ones, so that they change no verdict."""
    by = member_of(aircraft.club, Role.PILOT)
    items = list(aircraft.aircraft_type.items.order_by("code"))
    Defect.objects.bulk_create(
        Defect(
            aircraft=aircraft,
            number=number,
            item=items[number % len(items)],
            description="Something is not as it should be.",
            found_at=one,
            found_during=FoundDuring.OTHER,
            reported_by=by,
            reported_at=one,
            state=State.NO_DEFECT.value,
            assessment=AssessmentCode.NO_DEFECT,
            assessed_at=one,
        )
        for number, one in enumerate(_instants(at), start=1)
    )
