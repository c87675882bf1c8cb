"""The sweep over due items: one statement finds and writes every state that time or usage has changed.

The comparison is that of ``fleet.airworthiness.due.state`` in SQL; a test holds the two together. The verdicts of
aircraft do not hang on it: they carry the instant until which they hold, and every act judges anew.
"""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import connection

from fleet import assessment
from fleet.models import DIMENSIONS, Aircraft
from fleet.services.upkeep import in_batches

TODAY = "(%(at)s AT TIME ZONE c.time_zone)::date"


def _any(*conditions: str) -> str:
    return " OR ".join(f"({one})" for one in conditions)


def _state() -> str:
    """The state of row ``d`` of task ``t`` on the meter ``u``, worst first."""
    beyond = (f"u.{name} > d.hard_{name} OR (t.life_limit AND u.{name} >= d.due_{name})" for name in DIMENSIONS)
    unread = (f"d.due_{name} IS NOT NULL AND u.{name} IS NULL" for name in DIMENSIONS)
    past = (f"u.{name} > d.due_{name}" for name in DIMENSIONS)
    near = (f"u.{name} >= d.notice_{name}" for name in DIMENSIONS)
    limits = " AND ".join(f"d.due_{name} IS NULL" for name in DIMENSIONS)
    endless = f"NOT d.finished AND d.due_on IS NULL AND {limits}"
    last_day = "CASE WHEN t.life_limit THEN d.due_on ELSE d.hard_on END"
    return f"""CASE
        WHEN {_any(*beyond, f"{TODAY} > {last_day}")} THEN 'overdue'
        WHEN {_any("cardinality(d.unknown) > 0", endless, *unread)} THEN 'unknown'
        WHEN {_any(*past, f"{TODAY} > d.due_on")} THEN 'in_tolerance'
        WHEN {_any(*near, f"{TODAY} >= d.notice_on")} THEN 'due_soon'
        ELSE 'ok' END"""


SOURCES = """inspections_dueitem d
    JOIN inspections_task t ON t.id = d.task_id
    JOIN fleet_aircraft a ON a.id = d.aircraft_id
    JOIN fleet_club c ON c.id = a.club_id
    LEFT JOIN fleet_usagetotal u ON u.aircraft_id = d.aircraft_id"""

SWEEP = f"""
    UPDATE inspections_dueitem item SET state = now.state, changed_at = %(at)s
    FROM (SELECT d.id, {_state()} AS state FROM {SOURCES}) now
    WHERE item.id = now.id AND item.state IS DISTINCT FROM now.state
    RETURNING item.aircraft_id"""  # noqa: S608  # names of our own columns only


IN_STATES = f"""
    SELECT d.id FROM {SOURCES}
    WHERE a.club_id = %(club)s AND {_state()} = ANY(%(states)s)"""  # noqa: S608  # names of our own columns only


def ids_in(states: Sequence[str], *, club_id: UUID, at: datetime) -> list[UUID]:
    """Due items of a club that are in one of the states now, whatever the last sweep stored."""
    with connection.cursor() as cursor:
        cursor.execute(IN_STATES, {"club": club_id, "states": list(states), "at": at})
        return [row[0] for row in cursor.fetchall()]


def sweep(at: datetime) -> list[UUID]:
    """Write every state that differs, in one statement; the aircraft concerned. Safe to run twice or at once."""
    with connection.cursor() as cursor:
        cursor.execute(SWEEP, {"at": at})
        return sorted({row[0] for row in cursor.fetchall()})


def sweep_and_judge(at: datetime) -> int:
    """The sweep, and the aircraft that it found judged anew in batches; how many."""
    return in_batches(
        sweep(at),
        lambda batch: len(
            assessment.conclude(assessment.lock_many(Aircraft.objects.filter(id__in=batch), at=at), at=at)
        ),
    )
