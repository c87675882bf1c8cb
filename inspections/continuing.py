"""What the programme, the directives, the components and the usage record tell the rules.

A constant number of queries for any number of aircraft.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from django.db.models import Max

from defects.models import Defect, FoundDuring
from fleet import life
from fleet.airworthiness.due import Dimension
from fleet.airworthiness.due_facts import DirectiveFact, DueFact, MissingPosition, UsageRecord
from fleet.models import DIMENSIONS, Aircraft, UsageTotal
from inspections.models import Directive, DirectiveAssessment, DueItem, Occurrence
from inspections.services.limits import read

PROVIDES = ("due", "directives", "missing_positions", "usage_record")
Meters = Mapping[UUID, Mapping[Dimension, int]]


def _items(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, list[DueItem]]:
    found: dict[UUID, list[DueItem]] = defaultdict(list)
    rows = DueItem.objects.filter(aircraft_id__in=aircraft_ids).select_related("task", "component__kind")
    for item in rows.order_by("task__code", "component_id"):
        found[item.aircraft_id].append(item)
    return found


def _due_fact(item: DueItem, meters: Meters) -> DueFact:
    component = item.component
    return DueFact(
        task_id=str(item.task_id),
        title=item.task.title,
        mandatory=item.task.mandatory,
        subject_type="component" if component else "aircraft",
        subject_id=str(item.component_id or item.aircraft_id),
        subject_label=f"{component.kind.designation} {component.serial_number}" if component else "",
        limits=read(item),
        readings=meters.get(item.aircraft_id, {}),
        known=not item.unknown,
    )


def _directive_fact(directive: Directive, decision: str | None, item: DueItem | None, meters: Meters) -> DirectiveFact:
    return DirectiveFact(
        id=str(directive.id),
        reference=str(directive),
        title=directive.title,
        decision=cast(Any, decision),
        complied_finally=item is not None and item.finished,
        limits=read(item) if item is not None else None,
        readings=meters.get(item.aircraft_id, {}) if item is not None else {},
    )


def serial_concerned(directive: Directive, serial: str) -> bool:
    """Whether a serial number may lie in the directive's range; one that cannot be compared may."""
    bounds = (directive.serial_from, directive.serial_to)
    if not serial.isdigit() or any(bound and not bound.isdigit() for bound in bounds):
        return True
    low, high = (int(bound) if bound else None for bound in bounds)
    return (low is None or int(serial) >= low) and (high is None or int(serial) <= high)


def concerned(
    directives: Iterable[Directive], aircraft: Aircraft, inside: Sequence[Any]
) -> Iterable[tuple[Directive, UUID | None]]:
    """Directives that may concern an aircraft (component None) or a component in it. Prefetched relations only."""
    for directive in directives:
        types = {one.id for one in directive.aircraft_types.all()}
        kinds = {one.id for one in directive.component_kinds.all()}
        if aircraft.aircraft_type_id in types and serial_concerned(directive, aircraft.serial_number):
            yield directive, None
        for installation in inside:
            component = installation.component
            if component.kind_id in kinds and serial_concerned(directive, component.serial_number):
                yield directive, component.id


def _in_force(club_ids: set[UUID]) -> Mapping[UUID, list[Directive]]:
    found: dict[UUID, list[Directive]] = defaultdict(list)
    rows = Directive.objects.filter(club_id__in=club_ids, superseded_by=None)
    for directive in rows.prefetch_related("aircraft_types", "component_kinds").order_by("reference", "revision"):
        found[directive.club_id].append(directive)
    return found


def _decisions(aircraft_ids: Sequence[UUID]) -> Mapping[tuple[UUID, UUID, UUID | None], str]:
    latest = (
        DirectiveAssessment.objects.filter(aircraft_id__in=aircraft_ids)
        .order_by("directive_id", "aircraft_id", "component_id", "-assessed_at")
        .distinct("directive_id", "aircraft_id", "component_id")
    )
    return {(one.directive_id, one.aircraft_id, one.component_id): one.decision for one in latest}


def _directives(
    fleet: Sequence[Aircraft], items: Mapping[UUID, list[DueItem]], inside: Mapping[UUID, Sequence[Any]], meters: Meters
) -> Mapping[UUID, tuple[DirectiveFact, ...]]:
    in_force = _in_force({one.club_id for one in fleet})
    if not any(in_force.values()):
        return {}
    decisions = _decisions([one.id for one in fleet])
    found: dict[UUID, tuple[DirectiveFact, ...]] = {}
    for aircraft in fleet:
        facts: list[DirectiveFact] = []
        for directive, component_id in concerned(in_force[aircraft.club_id], aircraft, inside[aircraft.id]):
            decision = decisions.get((directive.id, aircraft.id, component_id))
            own: list[DueItem | None] = [
                item
                for item in items.get(aircraft.id, ())
                if item.task.directive_id == directive.id and item.component_id == component_id
            ]
            facts += [_directive_fact(directive, decision, item, meters) for item in own or [None]]
        found[aircraft.id] = tuple(facts)
    return found


def _usage_records(aircraft_ids: Sequence[UUID], totals: Mapping[UUID, UsageTotal]) -> Mapping[UUID, UsageRecord]:
    """Signs that it flew: a defect found in flight, or an occurrence."""
    in_flight = Defect.objects.filter(aircraft_id__in=aircraft_ids, found_during=FoundDuring.FLIGHT)
    happened = Occurrence.objects.filter(aircraft_id__in=aircraft_ids)
    signs = (
        in_flight.values("aircraft_id")
        .annotate(last=Max("found_at"))
        .union(happened.values("aircraft_id").annotate(last=Max("occurred_at")), all=True)
    )
    latest: dict[UUID, datetime] = {}
    for row in signs:
        latest[row["aircraft_id"]] = max(row["last"], latest.get(row["aircraft_id"], row["last"]))
    return {
        aircraft_id: UsageRecord(
            last_recorded_at=totals[aircraft_id].recorded_to if aircraft_id in totals else None,
            sign_of_flight_at=latest.get(aircraft_id),
        )
        for aircraft_id in aircraft_ids
    }


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """The four fields of continuing airworthiness."""
    fleet = list(Aircraft.objects.filter(id__in=aircraft_ids))
    totals = {row.aircraft_id: row for row in UsageTotal.objects.filter(aircraft_id__in=aircraft_ids)}
    meters = {key: {Dimension(name): getattr(row, name) for name in DIMENSIONS} for key, row in totals.items()}
    items, inside = _items(aircraft_ids), life.installed_in(aircraft_ids)
    directives = _directives(fleet, items, inside, meters)
    empty, records = life.missing_positions(aircraft_ids), _usage_records(aircraft_ids, totals)
    return {
        aircraft_id: {
            "due": tuple(
                _due_fact(item, meters) for item in items.get(aircraft_id, ()) if item.task.directive_id is None
            ),
            "directives": directives.get(aircraft_id, ()),
            "missing_positions": tuple(
                MissingPosition(id=str(one.id), title=one.title) for one in empty.get(aircraft_id, ())
            ),
            "usage_record": records[aircraft_id],
        }
        for aircraft_id in aircraft_ids
    }
