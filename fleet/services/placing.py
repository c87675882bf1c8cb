"""Where a component may be installed."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from fleet import assessment, life
from fleet.errors import Conflict, invalid
from fleet.models import Aircraft, Component, Installation, Membership, Overhaul, Position, UsageEntry
from fleet.services import stores


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a component goes."""

    position: Position
    into: Aircraft | Component
    aircraft: Aircraft | None  # the locked one that it is then in, directly or inside others

    @property
    def row(self) -> dict[str, Any]:
        """The columns of an installation that name it."""
        holder = self.into if isinstance(self.into, Component) else None
        return {"position": self.position, "aircraft": None if holder else self.aircraft, "parent": holder}


def _position(position_id: UUID, by: Membership) -> Position:
    of_type, of_kind = (
        Position.objects.filter(id=position_id, **{place: by.club_id})
        for place in ("aircraft_type__club_id", "parent_kind__club_id")
    )
    found = (of_type | of_kind).first()
    if found is None:
        raise invalid("/position", "unknown_position", "Your club has no position with this id.")
    return found


def place_of(
    by: Membership, position_id: UUID, aircraft_id: UUID | None, parent_id: UUID | None, at: datetime
) -> Place:
    """The place that somebody names, its aircraft locked; the stores are locked. Raises NotFound, Invalid."""
    if (aircraft_id is None) == (parent_id is None):
        raise invalid("/aircraft", "one_of", "Name either the aircraft or the component that it goes into.")
    if parent_id is None:
        aircraft = assessment.lock(aircraft_id or "", club_id=by.club_id, at=at)
        return Place(position=_position(position_id, by), into=aircraft, aircraft=aircraft)
    parent = stores.component_of(parent_id, by)
    home = stores.locked_home(parent, by, at)
    return Place(position=_position(position_id, by), into=parent, aircraft=home)


def check_serviceable(component: Component, place: Place) -> None:
    """An unserviceable part is kept apart (ML.A.504); a part may go into an unserviceable whole, in the workshop.

    Raises Conflict.
    """
    if component.condition != Component.Condition.SERVICEABLE:
        detail = f"The component is {component.condition}: {component.condition_reason}"
        raise Conflict("unserviceable", detail, {"condition": component.condition})
    if isinstance(place.into, Component) and place.into.condition == Component.Condition.RETIRED:
        raise Conflict("retired", "What it would go into is retired.", {"condition": place.into.condition})


def check_fits(component: Component, place: Place) -> None:
    """Raises Invalid."""
    into, position = place.into, place.position
    of_type = isinstance(into, Aircraft) and position.aircraft_type_id == into.aircraft_type_id
    of_kind = isinstance(into, Component) and position.parent_kind_id == into.kind_id
    if not (of_type or of_kind):
        raise invalid("/position", "not_here", "What you name to install it into has no such position.")
    if not position.kinds.filter(id=component.kind_id).exists():
        raise invalid("/position", "does_not_fit", f"{component.kind.designation} does not fit at {position.title}.")


def check_no_circle(component: Component, place: Place, installed_at: datetime) -> None:
    """Nothing is inside itself, at any time from then on. Raises Invalid, Conflict."""
    if not isinstance(place.into, Component):
        return
    if place.into == component:
        raise invalid("/parent", "in_itself", "A component cannot be installed in itself.")
    if component.id in life.holders_of(place.into.id, installed_at):
        raise Conflict("circle", "What you name to install it into was itself inside this component then.")


def check_free(component: Component, place: Place, installed_at: datetime) -> None:
    """Neither the position nor the component is taken at any time from then on. Raises Conflict."""
    row = place.row
    at_place = Installation.objects.filter(position=row["position"], aircraft=row["aircraft"], parent=row["parent"])
    for rows, code, detail in (
        (at_place, "position_taken", f"{place.position.title} was not empty then. Remove first what is there."),
        (
            Installation.objects.filter(component=component),
            "installed_elsewhere",
            "The component was in a place then. Remove it there first.",
        ),
    ):
        last = rows.order_by("-installed_at").first()
        if last is not None and (last.removed_at is None or last.removed_at > installed_at):
            raise Conflict(code, detail, {"installation": last.id, "removed_at": last.removed_at})


def check_after_overhaul(component: Component, installed_at: datetime) -> None:
    """Raises Invalid."""
    last = Overhaul.objects.filter(component=component).order_by("-counts_from").first()
    if last is not None and installed_at < last.counts_from:
        detail = f"This lies before its overhaul on {last.done_on.isoformat()}, for which it was not installed."
        raise invalid("/installed_at", "out_of_order", detail)


def check_on_ground(aircraft: Aircraft | None, instant: datetime, field: str) -> None:
    """Nothing is changed in flight. Raises Invalid."""
    flights = UsageEntry.objects.filter(
        aircraft=aircraft, corrects=None, corrected_by=None, takeoff_at__lt=instant, landing_at__gt=instant
    )
    if aircraft is not None and flights.exists():
        raise invalid(f"/{field}", "in_flight", f"{aircraft.registration} was flying then, as its usage says.")
