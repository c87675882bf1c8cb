"""The latest of what is recorded day by day. By hand, because one look into an index is enough, however long the record is."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection

COMPLETE_DAILY = "complete_daily"
BALLAST = "ballast"
RIGGING_CHECK = "rigging_check"

# an incomplete inspection clears nothing: of the ballast it tells only that it did not know
_CONDITIONS = {
    COMPLETE_DAILY: "i.kind = 'daily' AND i.complete",
    BALLAST: "i.kind = 'daily' AND i.ballast_known IS NOT NULL AND (i.complete OR NOT i.ballast_known)",
    RIGGING_CHECK: "i.kind = 'after_rigging' AND i.complete",
}
_ONE_INSPECTION = (
    "(SELECT '{which}' AS which, i.id, i.started_at, i.completed_at, i.recorded_at, i.ballast_known"
    " FROM inspections_inspection i WHERE i.aircraft_id = asked.id AND {condition}"
    " ORDER BY i.completed_at DESC, i.recorded_at DESC, i.id DESC LIMIT 1)"
)
_INSPECTIONS = " UNION ALL ".join(
    _ONE_INSPECTION.format(which=which, condition=condition) for which, condition in _CONDITIONS.items()
)
_LATEST = "SELECT asked.id, latest.* FROM unnest(%s::uuid[]) AS asked(id) CROSS JOIN LATERAL ({}) latest"
_LATEST_INSPECTIONS = _LATEST.format(_INSPECTIONS)
_LATEST_RIGGING = _LATEST.format(
    "SELECT r.id, r.kind, r.occurred_at FROM inspections_riggingevent r WHERE r.aircraft_id = asked.id"
    " ORDER BY r.occurred_at DESC, r.recorded_at DESC, r.id DESC LIMIT 1"
)


class Inspected(NamedTuple):
    """The latest inspection of one sort: ``which`` says of which."""

    aircraft_id: UUID
    which: str
    id: UUID
    started_at: datetime
    completed_at: datetime
    recorded_at: datetime
    ballast_known: bool | None


class Rigged(NamedTuple):
    """The latest rigging event."""

    aircraft_id: UUID
    id: UUID
    kind: str
    occurred_at: datetime


def _executed(statement: str, aircraft_ids: Sequence[UUID]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, [list(aircraft_ids)])
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def inspections(aircraft_ids: Sequence[UUID]) -> list[Inspected]:
    """By completion, at most one of each sort an aircraft: complete daily, daily that tells of the ballast, rigging check."""
    return [Inspected(*row) for row in _executed(_LATEST_INSPECTIONS, aircraft_ids)]


def rigging(aircraft_ids: Sequence[UUID]) -> list[Rigged]:
    """Of each aircraft that was ever rigged or derigged the last time."""
    return [Rigged(*row) for row in _executed(_LATEST_RIGGING, aircraft_ids)]
