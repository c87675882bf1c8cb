"""Counts over an aircraft's defects, closed ones too. By hand: every act asks, and composing cost more than counting."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection

from defects.lifecycle import State

_FAILURES = (
    "SELECT d.aircraft_id, d.item_id, array_agg(d.found_at ORDER BY d.found_at)"
    " FROM defects_defect d JOIN fleet_aircraft a ON a.id = d.aircraft_id JOIN fleet_club c ON c.id = a.club_id"
    " WHERE d.aircraft_id = ANY(%(aircraft)s) AND d.item_id IS NOT NULL AND d.state <> %(no_defect)s"
    " AND d.found_at > %(at)s - c.repeat_within_days * interval '1 day'"
    " GROUP BY d.aircraft_id, d.item_id, c.repeat_count HAVING count(*) >= c.repeat_count"
)
_CANCELLING = (
    "SELECT d.aircraft_id, 'critical_defect' AS kind, max(d.found_at), max(d.touched_critical_at) FROM defects_defect d"
    " WHERE d.aircraft_id = ANY(%(aircraft)s) AND d.touched_critical_at IS NOT NULL GROUP BY d.aircraft_id"
    " UNION ALL"
    " SELECT d.aircraft_id, 'critical_work', max(r.performed_at), max(r.recorded_at)"
    " FROM defects_rectification r JOIN defects_defect d ON d.id = r.defect_id"
    " WHERE d.aircraft_id = ANY(%(aircraft)s) AND r.on_critical_item GROUP BY d.aircraft_id ORDER BY kind"
)


class Failed(NamedTuple):
    """An item of an aircraft, and when it failed."""

    aircraft_id: UUID
    item_id: UUID
    failed_at: list[datetime]


class Cancelled(NamedTuple):
    """The latest of what cancels a daily inspection: when it happened, and when it was recorded."""

    aircraft_id: UUID
    kind: Any
    happened_at: datetime
    recorded_at: datetime


def _executed(statement: str, values: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def failures(aircraft_ids: Sequence[UUID], at: datetime) -> list[Failed]:
    """Items that failed as often as the club's setting asks or more, inside its days before ``at`` or since."""
    values = {"aircraft": list(aircraft_ids), "at": at, "no_defect": State.NO_DEFECT.value}
    return [Failed(*row) for row in _executed(_FAILURES, values)]


def cancelling(aircraft_ids: Sequence[UUID]) -> list[Cancelled]:
    """The latest defect on a critical (or unknown) item and the latest work on one."""
    return [Cancelled(*row) for row in _executed(_CANCELLING, {"aircraft": list(aircraft_ids)})]
