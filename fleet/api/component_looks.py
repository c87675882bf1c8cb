"""Components in JSON types; a constant number of queries for any number of them."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from fleet import life
from fleet.api.lives import shown_amounts, shown_lives
from fleet.api.verdicts import shown_member
from fleet.models import Aircraft, Component, Installation, Overhaul, Position
from fleet.selectors import installations_of


def shown_position(position: Position) -> dict[str, Any]:
    """A position, in short."""
    return {"id": position.id, "code": position.code, "title": position.title}


def shown_installation(one: Installation) -> dict[str, Any]:
    """An installation as it was recorded."""
    return {
        "id": one.id,
        "position": shown_position(one.position),
        "aircraft": one.aircraft_id,
        "registration": one.aircraft and one.aircraft.registration,
        "parent": one.parent_id,
        "parent_serial_number": one.parent and one.parent.serial_number,
        "installed_at": one.installed_at,
        "installed_by": shown_member(one.installed_by),
        "meter_in": shown_amounts(one.meter_in),
        "removed_at": one.removed_at,
        "removed_by": one.removed_by and shown_member(one.removed_by),
        "meter_out": None if one.meter_out is None else shown_amounts(one.meter_out),
        "removal_reason": one.removal_reason,
    }


def shown_overhaul(one: Overhaul) -> dict[str, Any]:
    """An overhaul."""
    return {
        "id": one.id,
        "component": one.component_id,
        "done_on": one.done_on,
        "release_document": one.release_document,
        "totals": shown_amounts(one.totals),
        "brought_forward": shown_amounts(one.known_amounts()),
        "recorded_by": shown_member(one.recorded_by),
        "recorded_at": one.recorded_at,
    }


def shown_many(components: Sequence[Component]) -> list[dict[str, Any]]:
    """Components with what they have run and where they are now; at most nine queries for any number."""
    ids = [one.id for one in components]
    lives, homes = shown_lives(components), life.homes_of(ids)
    places = {one.component_id: one for one in installations_of(ids).filter(removed_at=None)}
    aircraft = Aircraft.objects.in_bulk(set(homes.values()))
    return [
        {
            **_register(one),
            **lives[one.id],
            "installed": shown_installation(places[one.id]) if one.id in places else None,
            **_home(homes.get(one.id), aircraft),
        }
        for one in components
    ]


def shown(component: Component) -> dict[str, Any]:
    """One component."""
    return shown_many([component])[0]


def _home(home: UUID | None, aircraft: Mapping[UUID, Aircraft]) -> dict[str, Any]:
    return {"aircraft": home, "registration": aircraft[home].registration if home else None}


def _register(one: Component) -> dict[str, Any]:
    return {
        "id": one.id,
        "kind": one.kind_id,
        "designation": one.kind.designation,
        "part_number": one.kind.part_number,
        "serial_number": one.serial_number,
        "manufactured_on": one.manufactured_on,
        "release_document": one.release_document,
        "condition": one.condition,
        "condition_reason": one.condition_reason,
        "history_known": one.history_known,
        "brought_forward": shown_amounts(one.known_amounts()),
        "recorded_by": shown_member(one.recorded_by),
        "recorded_at": one.recorded_at,
    }
