"""Installing and removing components."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fleet import life
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, invalid
from fleet.models import Aircraft, Component, Installation, Membership
from fleet.permissions import require_role
from fleet.services import placing, stores
from fleet.services.instants import require_past


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """An installation begun or ended; the verdict on the aircraft concerned, None if none is."""

    installation: Installation
    verdict: Verdict | None


def _meter_at(place: Aircraft | Component, instant: datetime) -> life.Amounts:
    """What the meter showed, as far as it is known: the aircraft, or the component that something sits in."""
    if isinstance(place, Component):
        return life.totals_of([place], instant)[place.id]
    return _reading(life.Span(aircraft_id=place.id, since=instant, until=None))


def _reading(span: life.Span) -> life.Amounts:
    """At the beginning of a span."""
    found = life.metered([span])[0]
    return found.before if found.covered else {}


@transaction.atomic
def install(
    *,
    component_id: UUID,
    by: Membership,
    at: datetime,
    position_id: UUID,
    installed_at: datetime,
    aircraft_id: UUID | None = None,
    parent_id: UUID | None = None,
) -> Moved:
    """Install a serviceable component at an empty position that takes its kind, with whatever is inside it.

    Raises NotFound, Forbidden, Conflict, Invalid.
    """
    require_role(by, stores.FITTERS, "install components")
    require_past(at=at, installed_at=installed_at)
    stores.lock(by)
    component = stores.component_of(component_id, by)
    place = placing.place_of(by, position_id, aircraft_id, parent_id, at)
    placing.check_fits(component, place)
    placing.check_serviceable(component, place)
    placing.check_no_circle(component, place, installed_at)
    placing.check_free(component, place, installed_at)
    placing.check_after_overhaul(component, installed_at)
    placing.check_on_ground(place.aircraft, installed_at, "installed_at")
    meter = _meter_at(place.into, installed_at)
    installation = Installation.objects.create(
        component=component, installed_at=installed_at, installed_by=by, meter_in=meter, **place.row
    )
    told = stores.entry("component_install", component, by, at, _installed(place, installed_at, meter))
    return Moved(installation=installation, verdict=stores.conclude(place.aircraft, told, by, at))


def _installed(place: placing.Place, installed_at: datetime, meter: life.Amounts) -> dict[str, Any]:
    return {
        "position": place.position.code,
        "title": place.position.title,
        "into": str(place.into),
        "installed_at": installed_at,
        "meter": meter,
    }


def _open_installation(component: Component) -> Installation:
    rows = Installation.objects.select_related("position", "aircraft", "parent__kind")
    found = rows.filter(component=component, removed_at=None).first()
    if found is None:
        raise Conflict("not_installed", "The component is not installed anywhere.")
    return found


def _meter_out(installation: Installation, removed_at: datetime) -> life.Amounts:
    """Reading at the end: what was flown in between may have been flown before the removal, a line of that day too."""
    if installation.parent is not None:
        return _meter_at(installation.parent, removed_at)
    spans = life.spans_of([installation.component_id])[installation.component_id]
    last = spans[-1].within(None, removed_at)
    found = life.metered([last])[0] if last else None
    return life.added(found.before, found.flown) if found and found.covered else {}


@transaction.atomic
def remove(
    *, component_id: UUID, by: Membership, at: datetime, removed_at: datetime, reason: str, unserviceable: bool = False
) -> Moved:
    """Take a component out with whatever is inside it.

    ``unserviceable`` keeps it from being installed until an inspector declares otherwise. Raises NotFound, Forbidden,
    Conflict, Invalid.
    """
    require_role(by, stores.FITTERS, "remove components")
    require_past(at=at, removed_at=removed_at)
    stores.lock(by)
    component = stores.component_of(component_id, by)
    aircraft = stores.locked_home(component, by, at)
    installation = _open_installation(component)
    if removed_at <= installation.installed_at:
        raise invalid("/removed_at", "out_of_order", "This does not lie after its installation.")
    placing.check_on_ground(aircraft, removed_at, "removed_at")
    installation.meter_out = _meter_out(installation, removed_at)
    installation.removed_at, installation.removed_by, installation.removal_reason = removed_at, by, reason
    installation.save(update_fields=["removed_at", "removed_by", "removal_reason", "meter_out"])
    if unserviceable:
        component.condition, component.condition_reason = Component.Condition.UNSERVICEABLE, reason
        component.save(update_fields=["condition", "condition_reason"])
    told = stores.entry("component_remove", component, by, at, _removed(installation, unserviceable))
    return Moved(installation=installation, verdict=stores.conclude(aircraft, told, by, at))


def _removed(installation: Installation, unserviceable: bool) -> dict[str, Any]:
    return {
        "position": installation.position.code,
        "title": installation.position.title,
        "out_of": str(installation.aircraft or installation.parent),
        "removed_at": installation.removed_at,
        "reason": installation.removal_reason,
        "unserviceable": unserviceable,
        "meter": installation.meter_out,
    }
