"""Kinds of components, and the positions where they fit."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, cast
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import QuerySet

from fleet import assessment, events, life
from fleet.errors import Forbidden, invalid
from fleet.models import Aircraft, AircraftType, Component, ComponentKind, Membership, Position
from fleet.permissions import KEEPERS, require_role
from fleet.services import stores
from fleet.services.register import apply_changes

Place = AircraftType | ComponentKind


def _entry(kind: str, what: str, record: Any, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    return events.Entry(kind=kind, at=at, by=by, subject_type=what, subject_id=record.id, data=data)


@transaction.atomic
def add_kind(*, by: Membership, at: datetime, kind_id: UUID | None = None, **fields: Any) -> ComponentKind:
    """A new part number. Fields: designation, part_number, manufacturer."""
    require_role(by, KEEPERS, "add component kinds")
    kind = ComponentKind.objects.create(id=kind_id or uuid4(), club_id=by.club_id, created_at=at, **fields)
    events.append_for_club(by.club, [_entry("component_kind_add", "component_kind", kind, by, at, fields)])
    return kind


def _having(place: Place) -> QuerySet[Aircraft]:
    """Aircraft of the type, or with a component of the kind in them."""
    if isinstance(place, AircraftType):
        return Aircraft.objects.filter(aircraft_type=place)
    holders = Component.objects.filter(kind=place).values_list("id", flat=True)
    return Aircraft.objects.filter(id__in=set(life.homes_of(list(holders)).values()))


def _lock(place: Place, by: Membership, at: datetime) -> list[Aircraft]:
    """The aircraft that have the place. Moves wait, and so do new aircraft of the type: they are judged with the position."""
    stores.lock(by)
    type(place).objects.select_for_update().get(id=place.id)
    return assessment.lock_many(_having(place), at=at)


def _conclude(fleet: Sequence[Aircraft], told: events.Entry, by: Membership, at: datetime) -> None:
    events.append_for_club(by.club, [told])
    assessment.conclude(fleet, at=at, entries={one.id: [told] for one in fleet})


def _told(kinds: Sequence[ComponentKind]) -> list[str]:
    return sorted(kind.part_number for kind in kinds)


@transaction.atomic
def add_position(
    *,
    by: Membership,
    at: datetime,
    code: str,
    title: str,
    required: bool,
    kinds: Sequence[ComponentKind],
    aircraft_type: AircraftType | None = None,
    parent_kind: ComponentKind | None = None,
    position_id: UUID | None = None,
) -> Position:
    """A new place on a type or on a kind of component. A required one grounds every aircraft where it is empty."""
    require_role(by, KEEPERS, "add positions")
    place: Place | None = aircraft_type or parent_kind
    if place is None or (aircraft_type and parent_kind):
        raise invalid("/aircraft_type", "one_of", "Name either the aircraft type or the component kind that has it.")
    fleet = _lock(place, by, at)
    position = Position.objects.create(
        id=position_id or uuid4(),
        aircraft_type=aircraft_type,
        parent_kind=parent_kind,
        code=code,
        title=title,
        required=required,
        created_at=at,
    )
    position.kinds.set(kinds)
    data = {"code": code, "title": title, "on": str(place), "required": required, "kinds": _told(kinds)}
    _conclude(fleet, _entry("position_add", "position", position, by, at, data), by, at)
    return position


def _check_relaxing(position: Position, changes: Mapping[str, Any], by: Membership) -> None:
    """Whether a position may be empty is a technical decision."""
    if position.required and not changes.get("required", True) and not by.holds(*stores.FITTERS):
        raise Forbidden("role", "Only a technical officer or an inspector may let a required position be empty.")


@transaction.atomic
def change_position(
    position: Position,
    *,
    by: Membership,
    at: datetime,
    changes: Mapping[str, Any],
    kinds: Sequence[ComponentKind] | None = None,
) -> Position:
    """Change title, whether it is required, or what fits. What is installed there stays."""
    require_role(by, KEEPERS, "change positions")
    _check_relaxing(position, changes, by)
    fleet = _lock(cast(Place, position.aircraft_type or position.parent_kind), by, at)
    position = Position.objects.prefetch_related("kinds").get(id=position.id)
    done: dict[str, Any] = apply_changes(position, changes)
    before = list(position.kinds.all())
    if kinds is not None and {one.id for one in kinds} != {one.id for one in before}:
        position.kinds.set(kinds)
        done["kinds"] = {"before": _told(before), "after": _told(kinds)}
    if done:
        told = _entry("position_change", "position", position, by, at, {"code": position.code, **done})
        _conclude(fleet, told, by, at)
    return position


def kinds_of(club_id: UUID, ids: Sequence[UUID]) -> list[ComponentKind]:
    """The club's component kinds with these ids. Raises Invalid for one that is not there."""
    found = {kind.id: kind for kind in ComponentKind.objects.filter(club_id=club_id, id__in=ids)}
    for number, one in enumerate(ids):
        if one not in found:
            raise invalid(f"/kinds/{number}", "unknown_kind", "Your club has no component kind with this id.")
    return list(found.values())
