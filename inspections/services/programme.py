"""The maintenance programme: tasks and their intervals."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment
from fleet.errors import invalid
from fleet.models import (
    Aircraft,
    AircraftType,
    ComponentKind,
    Membership,
)
from fleet.permissions import require_role
from fleet.services.register import apply_changes
from inspections.models import Directive, Task, TaskLimit
from inspections.services.limits import schedule_of
from inspections.services.recording import OFFICERS, conclude, entry_of


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskOf:
    """What a task is to be done on: exactly one."""

    aircraft_type: AircraftType | None = None
    aircraft: Aircraft | None = None
    component_kind: ComponentKind | None = None


def _concerned(club_id: UUID, task: Task) -> Any:
    """The aircraft that a change of the task may concern; for a component kind, every one of the club."""
    fleet = Aircraft.objects.filter(club_id=club_id)
    if task.aircraft_id is not None:
        return fleet.filter(id=task.aircraft_id)
    if task.aircraft_type_id is not None:
        return fleet.filter(aircraft_type_id=task.aircraft_type_id)
    return fleet


def _check_schedule(task: Task) -> None:
    try:
        schedule_of(task)
    except ValueError as error:
        raise invalid("/limits", "schedule", str(error)) from error


@transaction.atomic
def add_task(
    *,
    by: Membership,
    at: datetime,
    of: TaskOf,
    limits: Sequence[Mapping[str, Any]],
    directive: Directive | None = None,
    task_id: UUID | None = None,
    **fields: Any,
) -> Task:
    """A new task. While nothing is recorded from which it counts, a mandatory one grounds.

    ``limits``: dimension, first, every, tolerance, tolerance_in, notice. Fields: code, title, basis, mandatory,
    life_limit, counting.
    """
    require_role(by, OFFICERS, "change the maintenance programme")
    task = Task(
        id=task_id or uuid4(),
        club_id=by.club_id,
        aircraft_type=of.aircraft_type,
        aircraft=of.aircraft,
        component_kind=of.component_kind,
        directive=directive,
        created_at=at,
        **fields,
    )
    fleet = assessment.lock_many(_concerned(by.club_id, task), at=at)
    task.save(force_insert=True)
    TaskLimit.objects.bulk_create(TaskLimit(task=task, **limit) for limit in limits)
    _check_schedule(task)
    data = {**fields, "limits": [dict(limit) for limit in limits]}
    conclude(fleet, entry_of("task_add", "task", task, by, at, data), by, at)
    return task


@transaction.atomic
def change_task(task: Task, *, by: Membership, at: datetime, changes: Mapping[str, Any]) -> Task:
    """Change a task; ``limits``, if given, replaces all of them. The event keeps what they were."""
    require_role(by, OFFICERS, "change the maintenance programme")
    fleet = assessment.lock_many(_concerned(by.club_id, task), at=at)
    fields = {name: value for name, value in changes.items() if name != "limits"}
    done: dict[str, Any] = apply_changes(task, fields)
    if "limits" in changes:
        names = ("dimension", "first", "every", "tolerance", "tolerance_in", "notice")
        before = list(task.limits.values(*names))
        task.limits.all().delete()
        TaskLimit.objects.bulk_create(TaskLimit(task=task, **limit) for limit in changes["limits"])
        done["limits"] = {"before": before, "after": [dict(limit) for limit in changes["limits"]]}
    _check_schedule(Task.objects.prefetch_related("limits").get(id=task.id))
    if done:
        conclude(fleet, entry_of("task_change", "task", task, by, at, {"code": task.code, **done}), by, at)
    return task
