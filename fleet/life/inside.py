"""What is in an aircraft, also inside other components, and what is missing."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from fleet.models import Aircraft, Component, Installation, Position

# {i} is an installation at the instant asked for
NOW = "{i}.removed_at IS NULL"
THEN = "{i}.installed_at <= %(at)s AND ({i}.removed_at IS NULL OR {i}.removed_at > %(at)s)"
INSIDE = """
    WITH RECURSIVE inside (id, component_id, aircraft_id, depth) AS (
        SELECT i.id, i.component_id, i.aircraft_id, 0 FROM fleet_installation i
        WHERE i.aircraft_id = ANY(%(ids)s) AND {when}
        UNION ALL
        SELECT i.id, i.component_id, inside.aircraft_id, depth + 1
        FROM fleet_installation i JOIN inside ON i.parent_id = inside.component_id WHERE {when}
    )
"""
INSIDE_NOW = INSIDE.format(when=NOW.format(i="i"))
INSIDE_THEN = INSIDE.format(when=THEN.format(i="i"))
HOMES = """
    WITH RECURSIVE outside (component_id, parent_id, aircraft_id) AS (
        SELECT component_id, parent_id, aircraft_id FROM fleet_installation
        WHERE component_id = ANY(%(ids)s) AND removed_at IS NULL
        UNION
        SELECT outside.component_id, i.parent_id, i.aircraft_id
        FROM fleet_installation i JOIN outside ON i.component_id = outside.parent_id WHERE i.removed_at IS NULL
    )
    SELECT component_id, aircraft_id FROM outside WHERE aircraft_id IS NOT NULL
"""
MISSING = f"""
    {INSIDE_NOW}
    SELECT a.id, p.id FROM fleet_aircraft a JOIN fleet_position p USING (aircraft_type_id)
    WHERE a.id = ANY(%(ids)s) AND p.required AND NOT EXISTS (
        SELECT FROM fleet_installation i WHERE i.aircraft_id = a.id AND i.position_id = p.id AND i.removed_at IS NULL
    )
    UNION
    SELECT inside.aircraft_id, p.id FROM inside
    JOIN fleet_component c ON c.id = inside.component_id
    JOIN fleet_position p ON p.parent_kind_id = c.kind_id
    WHERE p.required AND NOT EXISTS (
        SELECT FROM fleet_installation i WHERE i.parent_id = c.id AND i.position_id = p.id AND i.removed_at IS NULL
    )
"""  # noqa: S608  # no values inside
TOUCHED = """
    WITH RECURSIVE been (component_id) AS (
        SELECT component_id FROM fleet_installation
        WHERE aircraft_id = %(aircraft)s AND (removed_at IS NULL OR removed_at > %(since)s)
        UNION
        SELECT i.component_id FROM fleet_installation i JOIN been ON i.parent_id = been.component_id
        WHERE i.removed_at IS NULL OR i.removed_at > %(since)s
    )
    SELECT component_id FROM been
"""


def _rows(statement: str, parameters: Mapping[str, Any]) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return list(cursor.fetchall())


def installed_in(aircraft_ids: Sequence[UUID], at: datetime | None = None) -> dict[UUID, list[Installation]]:
    """What is in each aircraft now (or was at an instant), what holds others first; two queries for any number."""
    inside = INSIDE_NOW if at is None else INSIDE_THEN
    statement = f"{inside} SELECT id, aircraft_id FROM inside ORDER BY depth"  # noqa: S608  # no values inside
    homes: dict[UUID, UUID] = dict(_rows(statement, {"ids": list(aircraft_ids), "at": at}))
    rows = Installation.objects.select_related("component__kind", "position").in_bulk(list(homes)) if homes else {}
    found: dict[UUID, list[Installation]] = {aircraft_id: [] for aircraft_id in aircraft_ids}
    for installation_id, aircraft_id in homes.items():
        found[aircraft_id].append(rows[installation_id])
    return found


def missing_positions(aircraft_ids: Sequence[UUID]) -> dict[UUID, list[Position]]:
    """Required positions that are empty now, of the aircraft's types and of what is installed in them.

    By code; every aircraft asked for has a list. Two queries for any number, one if nothing is missing.
    """
    pairs = _rows(MISSING, {"ids": list(aircraft_ids)})
    positions = Position.objects.select_related("parent_kind").in_bulk({one for _, one in pairs}) if pairs else {}
    found: dict[UUID, list[Position]] = {aircraft_id: [] for aircraft_id in aircraft_ids}
    for aircraft_id, position_id in pairs:
        found[aircraft_id].append(positions[position_id])
    return {one: sorted(listed, key=lambda position: (position.code, position.id)) for one, listed in found.items()}


def homes_of(component_ids: Sequence[UUID]) -> dict[UUID, UUID]:
    """The aircraft that each component is in now, directly or inside others; those in none are missing. One query."""
    return dict(_rows(HOMES, {"ids": list(component_ids)})) if component_ids else {}


def home_of(component: Component) -> Aircraft | None:
    """The aircraft that a component is in now, directly or inside others."""
    home = homes_of([component.id]).get(component.id)
    return Aircraft.objects.get(id=home) if home else None


def touched_by(aircraft_id: UUID, since: datetime) -> set[UUID]:
    """Aircraft that now hold something that was in this one at or after an instant: its late entries change lives there."""
    been = [component_id for (component_id,) in _rows(TOUCHED, {"aircraft": aircraft_id, "since": since})]
    return set(homes_of(been).values())
