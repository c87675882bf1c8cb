"""Due items: which tasks apply to what, and the limits that follow from what was done. Set-based over many aircraft.

Rows are derived: recomputing from nothing gives the same rows. The caller holds the aircraft's locks.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.db.models import Q

from fleet import life
from fleet.airworthiness.due import Dimension, Done, Limits, State, assess, limits
from fleet.airworthiness.flying_day import flying_day
from fleet.models import DIMENSIONS, Aircraft, Component, UsageTotal
from inspections.models import Compliance, DirectiveAssessment, DueItem, Task
from inspections.services.limits import read, schedule_of, untold, write

Key = tuple[UUID, UUID, UUID | None]  # task, aircraft, component
Readings = dict[Dimension, int]
COLUMNS = [
    *(f"{level}_{name}" for name in DIMENSIONS for level in ("notice", "due", "hard")),
    *("notice_on", "due_on", "hard_on", "intervals", "offsets", "unknown", "finished", "last", "state", "changed_at"),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What the computation stands on, read once for all the aircraft."""

    fleet: Mapping[UUID, Aircraft]
    inside: Mapping[UUID, Sequence[Component]]  # components in each aircraft
    meters: Mapping[UUID, Readings]  # of aircraft; missing: usage unknown
    lives: Mapping[UUID, Readings]  # of components; a missing dimension is unknown
    at: datetime


def _readings(amounts: Mapping[str, int]) -> Readings:
    return {Dimension(name): amount for name, amount in amounts.items()}


def _ground(fleet: Sequence[Aircraft], at: datetime) -> Ground:
    ids = [one.id for one in fleet]
    inside = {key: [row.component for row in rows] for key, rows in life.installed_in(ids).items()}
    totals = life.totals_of([component for listed in inside.values() for component in listed])
    return Ground(
        fleet={one.id: one for one in fleet},
        inside=inside,
        meters={row.aircraft_id: _readings(row.amounts()) for row in UsageTotal.objects.filter(aircraft_id__in=ids)},
        lives={component_id: _readings(amounts) for component_id, amounts in totals.items()},
        at=at,
    )


def _tasks(ground: Ground) -> list[Task]:
    kinds = {component.kind_id for listed in ground.inside.values() for component in listed}
    types = {one.aircraft_type_id for one in ground.fleet.values()}
    wanted = Q(aircraft_type_id__in=types) | Q(aircraft_id__in=list(ground.fleet)) | Q(component_kind_id__in=kinds)
    return list(
        Task.objects.filter(wanted, active=True)
        .filter(Q(directive=None) | Q(directive__superseded_by=None))
        .select_related("directive", "component_kind")
        .prefetch_related("limits")
    )


def _applicable(ground: Ground) -> set[tuple[UUID, UUID, UUID | None]]:
    """Directives that were last assessed as applicable: directive, aircraft, component."""
    latest = (
        DirectiveAssessment.objects.filter(aircraft_id__in=list(ground.fleet))
        .order_by("directive_id", "aircraft_id", "component_id", "-assessed_at")
        .distinct("directive_id", "aircraft_id", "component_id")
    )
    applies = DirectiveAssessment.Decision.APPLICABLE
    return {(one.directive_id, one.aircraft_id, one.component_id) for one in latest if one.decision == applies}


def _subjects(task: Task, ground: Ground) -> Iterable[tuple[Aircraft, Component | None]]:
    """What a task is to be done on."""
    for aircraft in ground.fleet.values():
        if task.component_kind_id is not None:
            yield from ((aircraft, one) for one in ground.inside[aircraft.id] if one.kind_id == task.component_kind_id)
        elif task.aircraft_id == aircraft.id or task.aircraft_type_id == aircraft.aircraft_type_id:
            yield aircraft, None


def _wanted(ground: Ground) -> dict[Key, tuple[Task, Component | None]]:
    applicable = _applicable(ground)
    found: dict[Key, tuple[Task, Component | None]] = {}
    for task in _tasks(ground):
        for aircraft, component in _subjects(task, ground):
            component_id = component.id if component else None
            if task.directive_id is None or (task.directive_id, aircraft.id, component_id) in applicable:
                found[task.id, aircraft.id, component_id] = (task, component)
    return found


def _latest(keys: Iterable[Key]) -> dict[tuple[UUID, UUID], Compliance]:
    """The latest compliance of each task by aircraft or component."""
    tasks = {key[0] for key in keys}
    subjects = {key[2] or key[1] for key in keys}
    rows = Compliance.objects.filter(task_id__in=tasks).filter(
        Q(component_id__in=subjects) | Q(component=None, aircraft_id__in=subjects)
    )
    ordered = rows.order_by("task_id", "component_id", "aircraft_id", "-done_on", "-recorded_at")
    found: dict[tuple[UUID, UUID], Compliance] = {}
    for one in ordered:
        found.setdefault((one.task_id, one.component_id or one.aircraft_id), one)  # type: ignore[arg-type]
    return found


def _start(task: Task, aircraft: Aircraft, component: Component | None) -> Done | None:
    """From where the first interval counts: a component's beginning, or the day on which a directive took effect."""
    if task.directive is not None:
        begins = datetime.combine(task.directive.effective_on, time(), ZoneInfo(aircraft.club.time_zone))
        if component is not None:
            amounts = life.totals_of([component], begins)[component.id]
        else:
            amounts = life.readings_at([(aircraft.id, begins)])[0]
        return Done(on=task.directive.effective_on, readings=_readings(amounts))
    if component is None or not component.history_known or component.manufactured_on is None:
        return None
    return Done(on=component.manufactured_on, readings=dict.fromkeys(Dimension, 0))


def _done(compliance: Compliance) -> Done:
    return Done(on=compliance.done_on, readings={Dimension(name): value for name, value in compliance.readings.items()})


def _limits(task: Task, aircraft: Aircraft, component: Component | None, last: Compliance | None) -> Limits:
    if last is not None and last.terminates:
        return Limits(usage=(), calendar=None, unknown=(), finished=True, life_limit=task.life_limit)
    schedule = schedule_of(task)
    if last is None:
        return limits(schedule, _start(task, aircraft, component), None, None)
    return limits(schedule, None, _done(last), untold(last.limits_before))


def _offsets(component: Component | None, ground: Ground, aircraft_id: UUID) -> dict[str, int]:
    if component is None:
        return {}
    meter, own = ground.meters.get(aircraft_id, {}), ground.lives.get(component.id, {})
    return {str(name): meter.get(name, 0) - own.get(name, 0) for name in Dimension}


def _countable(found: Limits, own: Readings) -> Limits:
    """Without a component's own reading nobody can say where on the aircraft's meter its limit lies."""
    lost = tuple(limit.dimension for limit in found.usage if limit.dimension not in own)
    kept = tuple(limit for limit in found.usage if limit.dimension in own)
    return replace(found, usage=kept, unknown=(*found.unknown, *lost))


def _fill(item: DueItem, component: Component | None, last: Compliance | None, ground: Ground) -> None:
    aircraft = ground.fleet[item.aircraft_id]
    found = _limits(item.task, aircraft, component, last)
    if component is not None:
        found = _countable(found, ground.lives.get(component.id, {}))
    write(item, found, _offsets(component, ground, aircraft.id))
    item.last = last
    item.state = state_of(item, ground.meters.get(aircraft.id, {}), aircraft.club.time_zone, ground.at)


def state_of(item: DueItem, meter: Mapping[Dimension, int], time_zone: str, at: datetime) -> State:
    """State of a due item by its stored limits, the aircraft's meter and the civil date."""
    return assess(read(item), meter, flying_day(at, time_zone)).state


# events after which other tasks apply, or their limits stand elsewhere
MOVES = frozenset(
    {
        "usage_record",
        "usage_import",
        "usage_correct",
        "component_change",
        "component_install",
        "component_remove",
        "component_life_change",
        "task_add",
        "task_change",
        "task_comply",
        "directive_add",
        "directive_assess",
    }
)


def refresh(fleet: Sequence[Aircraft], kinds: frozenset[str], at: datetime) -> None:
    """Recompute in the transaction of an act that moves limits; any other act costs nothing."""
    if kinds & MOVES:
        recompute(fleet, at)


def _differs(item: DueItem, before: dict[str, object]) -> bool:
    return any(getattr(item, name) != value for name, value in before.items())


def recompute(fleet: Sequence[Aircraft], at: datetime) -> None:
    """Bring the due items of locked aircraft in line with programme, components and compliances.

    Writes only rows that differ. A constant number of queries, but for directives that nobody has complied with yet.
    """
    ground = _ground(fleet, at)
    wanted = _wanted(ground)
    latest = _latest(wanted)
    rows = DueItem.objects.filter(aircraft_id__in=list(ground.fleet)).select_related("task")
    existing = {(row.task_id, row.aircraft_id, row.component_id): row for row in rows}
    made: list[DueItem] = []
    changed: list[DueItem] = []
    for key, (task, component) in wanted.items():
        item = existing.get(key) or DueItem(id=uuid4(), task=task, aircraft_id=key[1], component=component)
        item.task = task
        before = {name: getattr(item, name) for name in COLUMNS if name not in ("last", "changed_at")}
        before["last_id"] = item.last_id
        _fill(item, component, latest.get((task.id, key[2] or key[1])), ground)
        if key not in existing:
            made.append(item)
        elif _differs(item, before):
            changed.append(item)
    for item in (*made, *changed):
        item.changed_at = at
    DueItem.objects.filter(id__in=[row.id for key, row in existing.items() if key not in wanted]).delete()
    DueItem.objects.bulk_create(made)
    if changed:
        DueItem.objects.bulk_update(changed, COLUMNS)
