"""What inspections, rigging and occurrences tell the rules. A constant number of queries for any number of aircraft."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from django.db.models import Exists, Max, OuterRef

from defects import facts as defect_facts
from fleet.airworthiness.facts import (
    Cancellation,
    DailyFact,
    OccurrenceFact,
    RiggingFact,
)
from inspections.models import Inspection, InspectionKind, Occurrence, RiggingEvent

PROVIDES = (
    "last_complete_daily",
    "last_daily",
    "rigging",
    "rigging_checked_at",
    "occurrences",
    "cancellations",
)


def _daily(inspection: Inspection | None) -> DailyFact | None:
    if inspection is None:
        return None
    return DailyFact(
        id=str(inspection.id),
        started_at=inspection.started_at,
        completed_at=inspection.completed_at,
        recorded_at=inspection.recorded_at,
        ballast_known=inspection.ballast_known,
    )


Latest = Mapping[tuple[UUID, str, bool, bool | None], Inspection]


def _latest_inspections(aircraft_ids: Sequence[UUID]) -> Latest:
    """The latest daily and after-rigging inspections by aircraft, kind, completeness and what they knew of the ballast."""
    told_apart = ("aircraft_id", "kind", "complete", "ballast_known")
    latest = (
        Inspection.objects.filter(
            aircraft_id__in=aircraft_ids,
            kind__in=[InspectionKind.DAILY, InspectionKind.AFTER_RIGGING],
        )
        .order_by(*told_apart, "-completed_at", "-recorded_at", "-id")
        .distinct(*told_apart)
    )
    return {(one.aircraft_id, one.kind, one.complete, one.ballast_known): one for one in latest}


def _last(*candidates: Inspection | None) -> Inspection | None:
    there = [one for one in candidates if one]
    return max(there, key=lambda one: (one.completed_at, one.recorded_at, one.id), default=None)


def _inspection_facts(aircraft_id: UUID, latest: Latest) -> dict[str, Any]:
    """An incomplete inspection clears nothing: of the ballast it tells only that it did not know."""
    complete = {
        (kind, known): latest.get((aircraft_id, kind, True, known))
        for kind in (InspectionKind.DAILY, InspectionKind.AFTER_RIGGING)
        for known in (True, False, None)
    }
    daily = [complete[InspectionKind.DAILY, known] for known in (True, False, None)]
    ignorant = latest.get((aircraft_id, InspectionKind.DAILY, False, False))
    rigging_check = _last(*(complete[InspectionKind.AFTER_RIGGING, known] for known in (True, False, None)))
    return {
        "last_complete_daily": _daily(_last(*daily)),
        "last_daily": _daily(_last(daily[0], daily[1], ignorant)),
        "rigging_checked_at": rigging_check.started_at if rigging_check else None,
    }


def _rigging(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, RiggingFact]:
    latest = (
        RiggingEvent.objects.filter(aircraft_id__in=aircraft_ids)
        .order_by("aircraft_id", "-occurred_at", "-recorded_at", "-id")
        .distinct("aircraft_id")
    )
    return {
        event.aircraft_id: RiggingFact(id=str(event.id), kind=cast(Any, event.kind), occurred_at=event.occurred_at)
        for event in latest
    }


def _unanswered(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, list[OccurrenceFact]]:
    answered = Inspection.objects.filter(occurrence=OuterRef("id"), kind=InspectionKind.UNSCHEDULED, complete=True)
    found: dict[UUID, list[OccurrenceFact]] = defaultdict(list)
    for one in (
        Occurrence.objects.filter(aircraft_id__in=aircraft_ids).exclude(Exists(answered)).order_by("occurred_at", "id")
    ):
        found[one.aircraft_id].append(
            OccurrenceFact(
                id=str(one.id),
                kind=one.kind,
                occurred_at=one.occurred_at,
                description=one.description,
            )
        )
    return found


def _occurrence_cancellations(
    aircraft_ids: Sequence[UUID],
) -> Mapping[UUID, Cancellation]:
    rows = (
        Occurrence.objects.filter(aircraft_id__in=aircraft_ids)
        .values("aircraft_id")
        .annotate(happened=Max("occurred_at"), recorded=Max("reported_at"))
    )
    return {
        row["aircraft_id"]: Cancellation(kind="occurrence", happened_at=row["happened"], recorded_at=row["recorded"])
        for row in rows
    }


def _cancellations(
    rigging: RiggingFact | None,
    occurrence: Cancellation | None,
    of_defects: Sequence[Cancellation],
) -> tuple[Cancellation, ...]:
    found = [*of_defects, occurrence] if occurrence else [*of_defects]
    if rigging:
        # only when it happened counts: an inspection begun after the rigging has seen the rigged aircraft
        found.append(
            Cancellation(
                kind="rigging",
                happened_at=rigging.occurred_at,
                recorded_at=rigging.occurred_at,
            )
        )
    return tuple(found)


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """Five queries, one of them of the defects that cancel a daily inspection."""
    latest, rigging = _latest_inspections(aircraft_ids), _rigging(aircraft_ids)
    unanswered, cancelling = (
        _unanswered(aircraft_ids),
        _occurrence_cancellations(aircraft_ids),
    )
    of_defects = defect_facts.cancellations(aircraft_ids)
    return {
        aircraft_id: {
            **_inspection_facts(aircraft_id, latest),
            "rigging": rigging.get(aircraft_id),
            "occurrences": tuple(unanswered.get(aircraft_id, ())),
            "cancellations": _cancellations(
                rigging.get(aircraft_id),
                cancelling.get(aircraft_id),
                of_defects.get(aircraft_id, ()),
            ),
        }
        for aircraft_id in aircraft_ids
    }
