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
from inspections import latest
from inspections.models import Inspection, InspectionKind, Occurrence

PROVIDES = (
    "last_complete_daily",
    "last_daily",
    "rigging",
    "rigging_checked_at",
    "occurrences",
    "cancellations",
)


def _daily(inspection: latest.Inspected | None) -> DailyFact | None:
    if inspection is None:
        return None
    return DailyFact(
        id=str(inspection.id),
        started_at=inspection.started_at,
        completed_at=inspection.completed_at,
        recorded_at=inspection.recorded_at,
        ballast_known=inspection.ballast_known,
    )


def _inspection_facts(found: Mapping[str, latest.Inspected]) -> dict[str, Any]:
    rigging_check = found.get(latest.RIGGING_CHECK)
    return {
        "last_complete_daily": _daily(found.get(latest.COMPLETE_DAILY)),
        "last_daily": _daily(found.get(latest.BALLAST)),
        "rigging_checked_at": rigging_check.started_at if rigging_check else None,
    }


def _inspections(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, Mapping[str, latest.Inspected]]:
    found: dict[UUID, dict[str, latest.Inspected]] = defaultdict(dict)
    for one in latest.inspections(aircraft_ids):
        found[one.aircraft_id][one.which] = one
    return found


def _rigging(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, RiggingFact]:
    return {
        event.aircraft_id: RiggingFact(id=str(event.id), kind=cast(Any, event.kind), occurred_at=event.occurred_at)
        for event in latest.rigging(aircraft_ids)
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
    inspections, rigging = _inspections(aircraft_ids), _rigging(aircraft_ids)
    unanswered, cancelling = (
        _unanswered(aircraft_ids),
        _occurrence_cancellations(aircraft_ids),
    )
    of_defects = defect_facts.cancellations(aircraft_ids)
    return {
        aircraft_id: {
            **_inspection_facts(inspections.get(aircraft_id, {})),
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
