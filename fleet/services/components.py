"""Components: kinds, positions, installing, removing, overhaul, condition."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment, events, life
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, NotFound, invalid
from fleet.models import (
    Aircraft,
    AircraftType,
    Component,
    ComponentKind,
    Installation,
    Membership,
    Overhaul,
    Position,
    Role,
)
from fleet.permissions import KEEPERS, require_role
from fleet.services.instants import require_past

FITTERS = frozenset({Role.TECHNICAL_OFFICER, Role.INSPECTOR})
Condition = Component.Condition


def _entry(kind: str, component: Component, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    told = {"serial_number": component.serial_number, "part_number": component.kind.part_number, **data}
    return events.Entry(kind=kind, at=at, by=by, subject_type="component", subject_id=component.id, data=told)


def _club_entry(kind: str, what: str, record: Any, by: Membership, at: datetime, data: Mapping[str, Any]) -> None:
    entry = events.Entry(kind=kind, at=at, by=by, subject_type=what, subject_id=record.id, data=data)
    events.append_for_club(by.club, [entry])


@transaction.atomic
def add_kind(*, by: Membership, at: datetime, kind_id: UUID | None = None, **fields: Any) -> ComponentKind:
    """A new part number. Fields: designation, part_number, manufacturer."""
    require_role(by, KEEPERS, "add component kinds")
    kind = ComponentKind.objects.create(id=kind_id or uuid4(), club_id=by.club_id, created_at=at, **fields)
    _club_entry("component_kind_add", "component_kind", kind, by, at, fields)
    return kind


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
    if (aircraft_type is None) == (parent_kind is None):
        raise invalid(
            "/aircraft_type", "one_of", "Name either the aircraft type or the component kind that has the position."
        )
    fleet = assessment.lock_many(Aircraft.objects.filter(club_id=by.club_id), at=at)
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
    data = {"code": code, "title": title, "required": required, "kinds": [kind.part_number for kind in kinds]}
    _club_entry("position_add", "position", position, by, at, data)
    assessment.conclude(fleet, at=at)
    return position


@transaction.atomic
def add_component(
    *, kind: ComponentKind, by: Membership, at: datetime, component_id: UUID | None = None, **fields: Any
) -> Component:
    """A new component with what it has run so far. Without known history it is unserviceable."""
    require_role(by, KEEPERS, "add components")
    component = Component(id=component_id or uuid4(), kind=kind, recorded_by=by, recorded_at=at, **fields)
    component.condition = Condition.SERVICEABLE if component.history_known else Condition.UNSERVICEABLE
    component.condition_reason = "" if component.history_known else "Its history is not known (ML.A.504)."
    component.save(force_insert=True)
    _club_entry("component_add", "component", component, by, at, {"part_number": kind.part_number, **fields})
    return component


def _component(component_id: UUID | str, by: Membership) -> Component:
    found = (
        Component.objects.select_for_update(of=("self",))
        .select_related("kind")
        .filter(id=component_id, kind__club_id=by.club_id)
        .first()
    )
    if found is None:
        raise NotFound("component_not_found", "Your club has no component with this id.")
    return found


def home_of(component: Component) -> Aircraft | None:
    """The aircraft that a component is in, directly or inside others."""
    held: UUID | None = component.id
    while held is not None:
        open_one = Installation.objects.filter(component_id=held, removed_at=None).select_related("aircraft").first()
        if open_one is None:
            return None
        if open_one.aircraft is not None:
            return open_one.aircraft
        held = open_one.parent_id
    return None


def _check_serviceable(component: Component) -> None:
    if component.condition != Condition.SERVICEABLE:
        detail = f"The component is {component.condition}: {component.condition_reason}"
        raise Conflict("unserviceable", detail, {"condition": component.condition})


def _check_fits(component: Component, position: Position, target: Aircraft | Component) -> None:
    of_type = isinstance(target, Aircraft) and position.aircraft_type_id == target.aircraft_type_id
    of_kind = isinstance(target, Component) and position.parent_kind_id == target.kind_id
    if not (of_type or of_kind):
        raise invalid("/position", "not_here", "This position is not one of the place that you name.")
    if not position.kinds.filter(id=component.kind_id).exists():
        raise invalid("/position", "does_not_fit", f"{component.kind.designation} does not fit at {position.title}.")


def _check_free(component: Component, position: Position, target: Aircraft | Component, installed_at: datetime) -> None:
    place = {"aircraft": target} if isinstance(target, Aircraft) else {"parent": target}
    taken = Installation.objects.filter(position=position, **place).order_by("-installed_at").first()
    if taken is not None and (taken.removed_at is None or taken.removed_at > installed_at):
        raise Conflict("position_taken", f"{position.title} was not empty then. Remove first what is there.")
    last = Installation.objects.filter(component=component).order_by("-installed_at").first()
    if last is not None and (last.removed_at is None or last.removed_at > installed_at):
        raise Conflict("installed_elsewhere", "The component was installed elsewhere then. Remove it there first.")


Target = Aircraft | Component


def _home_of(component_id: UUID | str, by: Membership, at: datetime) -> Aircraft | None:
    """The locked aircraft that a component of the club is in; aircraft are locked before components, always."""
    found = Component.objects.filter(id=component_id, kind__club_id=by.club_id).first()
    if found is None:
        raise NotFound("component_not_found", "Your club has no component with this id.")
    home = home_of(found)
    return assessment.lock(home.id, club_id=by.club_id, at=at) if home else None


def _target(
    by: Membership, aircraft_id: UUID | None, parent_id: UUID | None, at: datetime
) -> tuple[Aircraft | None, Target]:
    """The locked aircraft, if any, and what the component goes into."""
    if aircraft_id is not None and parent_id is None:
        aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
        return aircraft, aircraft
    if parent_id is None or aircraft_id is not None:
        raise invalid("/aircraft", "one_of", "Name either the aircraft or the component that it goes into.")
    home = _home_of(parent_id, by, at)
    return home, _component(parent_id, by)


def _conclude(aircraft: Aircraft | None, entry: events.Entry, by: Membership, at: datetime) -> Verdict | None:
    if aircraft is None:
        events.append_for_club(by.club, [entry])
        return None
    return assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


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
) -> tuple[Installation, Verdict | None]:
    """Install a serviceable component at an empty position that takes its kind. Verdict None: not in an aircraft.

    Raises NotFound, Forbidden, Conflict, Invalid.
    """
    require_role(by, FITTERS, "install components")
    require_past(at=at, installed_at=installed_at)
    aircraft, target = _target(by, aircraft_id, parent_id, at)
    component = _component(component_id, by)
    position = Position.objects.filter(id=position_id, kinds__club_id=by.club_id).first()
    if position is None:
        raise invalid("/position", "unknown_position", "Your club has no position with this id.")
    _check_serviceable(component)
    _check_fits(component, position, target)
    _check_free(component, position, target, installed_at)
    meter = life.readings_at([(aircraft.id, installed_at)])[0] if aircraft else {}
    installation = Installation.objects.create(
        component=component,
        position=position,
        aircraft=target if isinstance(target, Aircraft) else None,
        parent=target if isinstance(target, Component) else None,
        installed_at=installed_at,
        installed_by=by,
        meter_in=meter,
    )
    data = {"position": position.code, "installed_at": installed_at, "meter": meter, "parent": parent_id}
    return installation, _conclude(aircraft, _entry("component_install", component, by, at, data), by, at)


@transaction.atomic
def remove(
    *, component_id: UUID, by: Membership, at: datetime, removed_at: datetime, reason: str, unserviceable: bool = False
) -> tuple[Installation, Verdict | None]:
    """Take a component out; ``unserviceable`` keeps it from being installed again until somebody says otherwise."""
    require_role(by, FITTERS, "remove components")
    require_past(at=at, removed_at=removed_at)
    aircraft = _home_of(component_id, by, at)
    component = _component(component_id, by)
    installation = Installation.objects.filter(component=component, removed_at=None).select_related("position").first()
    if installation is None:
        raise Conflict("not_installed", "The component is not installed anywhere.")
    if removed_at <= installation.installed_at:
        raise invalid("/removed_at", "out_of_order", "This lies before it was installed.")
    installation.removed_at, installation.removed_by, installation.removal_reason = removed_at, by, reason
    installation.meter_out = life.readings_at([(aircraft.id, removed_at)])[0] if aircraft else {}
    installation.save(update_fields=["removed_at", "removed_by", "removal_reason", "meter_out"])
    if unserviceable:
        component.condition, component.condition_reason = Condition.UNSERVICEABLE, reason
        component.save(update_fields=["condition", "condition_reason"])
    data = {
        "position": installation.position.code,
        "removed_at": removed_at,
        "reason": reason,
        "unserviceable": unserviceable,
    }
    return installation, _conclude(aircraft, _entry("component_remove", component, by, at, data), by, at)


@transaction.atomic
def set_condition(*, component_id: UUID, by: Membership, at: datetime, condition: str, reason: str) -> Component:
    """Declare a component that is not installed serviceable, unserviceable or retired. Retired is for ever."""
    require_role(by, frozenset({Role.INSPECTOR}), "declare the condition of components")
    component = _component(component_id, by)
    if component.condition == Condition.RETIRED:
        raise Conflict(
            "retired", "A retired component never goes back into service.", {"condition": component.condition}
        )
    if Installation.objects.filter(component=component, removed_at=None).exists():
        raise Conflict("installed", "The component is installed. Remove it first, or report a defect.")
    if condition == Condition.SERVICEABLE and not component.history_known:
        raise Conflict("history_unknown", "Without known history a component stays unserviceable (ML.A.504).")
    component.condition = condition
    component.condition_reason = "" if condition == Condition.SERVICEABLE else reason
    component.save(update_fields=["condition", "condition_reason"])
    events.append_for_club(
        by.club, [_entry("component_condition", component, by, at, {"condition": condition, "reason": reason})]
    )
    return component


@transaction.atomic
def overhaul(*, component_id: UUID, by: Membership, at: datetime, done_on: Any, release_document: str) -> Overhaul:
    """Record an overhaul of a component that is not installed: time since overhaul starts anew, time since new goes on."""
    require_role(by, FITTERS, "record overhauls")
    component = _component(component_id, by)
    if Installation.objects.filter(component=component, removed_at=None).exists():
        raise Conflict("installed", "The component is installed. Remove it first.")
    totals = life.totals_of([component])[component.id] or {}
    done = Overhaul.objects.create(
        component=component,
        done_on=done_on,
        amounts=totals,
        release_document=release_document,
        recorded_by=by,
        recorded_at=at,
    )
    data = {"done_on": done_on, "totals": totals, "release_document": release_document}
    events.append_for_club(by.club, [_entry("component_overhaul", component, by, at, data)])
    return done
