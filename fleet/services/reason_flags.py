"""Flags from what is shown: a reason that an officer should hear of is flagged once, when it first stands."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from uuid import UUID

from fleet.events import digest
from fleet.models import AirworthinessState
from fleet.services.flags import Notice, raise_flags
from fleet.services.upkeep import in_batches

FLAGGED = frozenset(
    {
        "task_overdue",
        "task_in_tolerance",
        "task_due_soon",
        "task_unknown",
        "life_limit_reached",
        "component_missing",
        "directive_overdue",
        "directive_unassessed",
        "document_expired",
    }
)


def _notices(state: AirworthinessState) -> Iterator[Notice]:
    aircraft = state.aircraft
    for reason in state.reasons:
        if reason["rule"] not in FLAGGED:
            continue
        # a reason's words name its dates and readings, and never the day on which somebody looks
        told = digest(f"{reason['effect']} {reason['subject']['id']} {reason['message']}")[:24]
        yield Notice(
            aircraft=aircraft,
            kind=reason["rule"],
            key=f"{reason['rule']}:{aircraft.id}:{told}",
            message=f"{aircraft.registration}: {reason['message']}",
            subject_type="aircraft",
            subject_id=aircraft.id,
        )


def flag_reasons(at: datetime) -> int:
    """Flag what stands against aircraft by the programme, directives, components and documents; how many are new."""
    rows = AirworthinessState.objects.exclude(reasons=[]).order_by("aircraft_id").values_list("aircraft_id", flat=True)

    def flag(batch: Sequence[UUID]) -> int:
        states = AirworthinessState.objects.filter(aircraft_id__in=batch).select_related("aircraft")
        return raise_flags([notice for state in states for notice in _notices(state)], at=at)

    return in_batches(list(rows), flag)
