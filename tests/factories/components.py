"""Component kinds, positions, components, and where they are."""

from datetime import datetime
from itertools import count
from typing import Any

from fleet.models import (
    DIMENSIONS,
    Aircraft,
    AircraftType,
    Club,
    Component,
    ComponentKind,
    Installation,
    Position,
    Role,
)
from fleet.services import components, installing, positions
from tests.factories.clubs import keeper_of, member_of
from tests.factories.constants import FOUNDED

NEW = dict.fromkeys(DIMENSIONS, 0)  # what a new component has run
_numbers = count(1)


def make_kind(club: Club, *, at: datetime = FOUNDED, **fields: Any) -> ComponentKind:
    """A part number of its own."""
    number = next(_numbers)
    fields = {"designation": "Tow release", "part_number": f"TR-{number:03}", "manufacturer": "Invented Works"} | fields
    return positions.add_kind(by=keeper_of(club), at=at, **fields)


def make_position(
    place: AircraftType | ComponentKind,
    *kinds: ComponentKind,
    required: bool = False,
    at: datetime = FOUNDED,
    **fields: Any,
) -> Position:
    """A place on a type or kind that takes these kinds."""
    fields = {"code": f"place-{next(_numbers)}", "title": "Nose"} | fields
    of: dict[str, Any] = {"aircraft_type" if isinstance(place, AircraftType) else "parent_kind": place}
    return positions.add_position(by=keeper_of(place.club), at=at, required=required, kinds=kinds, **fields, **of)


def make_component(kind: ComponentKind, *, at: datetime = FOUNDED, **fields: Any) -> Component:
    """A serviceable component, new unless ``brought_forward`` says otherwise."""
    said: dict[str, Any] = {
        "serial_number": f"S{next(_numbers)}",
        "history_known": True,
        "brought_forward": NEW,
    } | fields
    return components.add(kind=kind, by=keeper_of(kind.club), at=at, **said)


def fitter_of(club: Club) -> Any:
    """Whoever installs and removes."""
    return member_of(club, Role.TECHNICAL_OFFICER)


def installed(
    component: Component,
    into: Aircraft | Component,
    position: Position,
    *,
    at: datetime,
    recorded_at: datetime | None = None,
) -> Installation:
    """The component goes in at an instant, recorded then unless said otherwise."""
    place: dict[str, Any] = {"aircraft_id": into.id} if isinstance(into, Aircraft) else {"parent_id": into.id}
    return installing.install(
        component_id=component.id,
        by=fitter_of(component.kind.club),
        at=recorded_at or at,
        position_id=position.id,
        installed_at=at,
        **place,
    ).installation


def removed(component: Component, *, at: datetime, recorded_at: datetime | None = None, **fields: Any) -> Installation:
    """The component comes out at an instant, recorded then unless said otherwise."""
    return installing.remove(
        component_id=component.id,
        by=fitter_of(component.kind.club),
        at=recorded_at or at,
        removed_at=at,
        **{"reason": "Exchanged", **fields},
    ).installation
