"""The club's stores: what acts on components have in common.

Whoever moves or declares a component of a club first locks the club's row, then the aircraft concerned, as every act does.
So where components are stands still while it is looked at, and no two moves can wait for each other.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from fleet import assessment, events, life
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, NotFound
from fleet.models import DIMENSIONS, Aircraft, Club, Component, Installation, Membership, Role

Said = Mapping[str, int | None]  # amounts by dimension; one that is missing or None is not known
FITTERS = frozenset({Role.TECHNICAL_OFFICER, Role.INSPECTOR})


def lock(by: Membership) -> None:
    """Nobody else moves or declares components of the club until the end of the transaction."""
    Club.objects.select_for_update(no_key=True).get(id=by.club_id)


def component_of(component_id: UUID | str, by: Membership) -> Component:
    """A component of the club. Raises NotFound."""
    found = Component.objects.select_related("kind").filter(id=component_id, kind__club_id=by.club_id).first()
    if found is None:
        raise NotFound("component_not_found", "Your club has no component with this id. Check the id.")
    return found


def locked_home(component: Component, by: Membership, at: datetime) -> Aircraft | None:
    """The aircraft that a component is in, locked; the stores are locked."""
    home = life.homes_of([component.id]).get(component.id)
    return None if home is None else assessment.lock(home, club_id=by.club_id, at=at)


def entry(kind: str, component: Component, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    """What happened to a component."""
    told = {"serial_number": component.serial_number, "part_number": component.kind.part_number, **data}
    return events.Entry(kind=kind, at=at, by=by, subject_type="component", subject_id=component.id, data=told)


def conclude(aircraft: Aircraft | None, told: events.Entry | None, by: Membership, at: datetime) -> Verdict | None:
    """Record the act, if it changed anything, with the aircraft concerned and judge it anew; else in the club's chain."""
    entries = [told] if told else []
    if aircraft is not None:
        return assessment.conclude([aircraft], at=at, entries={aircraft.id: entries})[aircraft.id]
    if entries:
        events.append_for_club(by.club, entries)
    return None


def require_removed(component: Component) -> None:
    """Raises Conflict while it is installed."""
    if Installation.objects.filter(component=component, removed_at=None).exists():
        raise Conflict("installed", "The component is installed. Remove it first, or report a defect.")


def in_every_dimension(said: Said) -> dict[str, int | None]:
    """What was said as columns."""
    return {name: said.get(name) for name in DIMENSIONS}
