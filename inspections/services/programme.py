"""The maintenance programme and the directives: tasks, assessments, compliances."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from defects.models import Defect
from defects.services import reports
from defects.services.reports import Finding
from fleet import assessment, events, life
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, invalid
from fleet.life import home_of
from fleet.models import (
    DIMENSIONS,
    Aircraft,
    AircraftType,
    Authorisation,
    Component,
    ComponentKind,
    Membership,
    Privilege,
    Role,
    UsageTotal,
)
from fleet.permissions import INSPECTORS, require_authorisation, require_role, today_in
from fleet.services.register import apply_changes
from inspections.models import (
    Compliance,
    Directive,
    DirectiveAssessment,
    DueItem,
    Inspection,
    Task,
    TaskLimit,
)
from inspections.services.limits import read, schedule_of, told

OFFICERS = frozenset({Role.TECHNICAL_OFFICER})
DECIDERS = frozenset({Role.TECHNICAL_OFFICER, Role.INSPECTOR})


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskOf:
    """What a task is to be done on: exactly one."""

    aircraft_type: AircraftType | None = None
    aircraft: Aircraft | None = None
    component_kind: ComponentKind | None = None


def _entry(kind: str, what: str, record: Any, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    return events.Entry(kind=kind, at=at, by=by, subject_type=what, subject_id=record.id, data=data)


def _concerned(club_id: UUID, task: Task) -> Any:
    """The aircraft that a change of the task may concern; for a component kind, every one of the club."""
    fleet = Aircraft.objects.filter(club_id=club_id)
    if task.aircraft_id is not None:
        return fleet.filter(id=task.aircraft_id)
    if task.aircraft_type_id is not None:
        return fleet.filter(aircraft_type_id=task.aircraft_type_id)
    return fleet


def _conclude(fleet: Sequence[Aircraft], entry: events.Entry, by: Membership, at: datetime) -> dict[UUID, Verdict]:
    """Record for the club and each aircraft, and judge anew."""
    events.append_for_club(by.club, [entry])
    return assessment.conclude(fleet, at=at, entries={one.id: [entry] for one in fleet})


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
    _conclude(fleet, _entry("task_add", "task", task, by, at, data), by, at)
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
        _conclude(fleet, _entry("task_change", "task", task, by, at, {"code": task.code, **done}), by, at)
    return task


@transaction.atomic
def add_directive(
    *,
    by: Membership,
    at: datetime,
    aircraft_types: Sequence[AircraftType] = (),
    component_kinds: Sequence[ComponentKind] = (),
    supersedes: Directive | None = None,
    directive_id: UUID | None = None,
    **fields: Any,
) -> Directive:
    """A new directive or revision: every aircraft that it may concern is grounded until somebody has assessed it."""
    require_role(by, OFFICERS, "record directives")
    fleet = assessment.lock_many(Aircraft.objects.filter(club_id=by.club_id), at=at)
    directive = Directive.objects.create(
        id=directive_id or uuid4(),
        club_id=by.club_id,
        supersedes=supersedes,
        recorded_by=by,
        recorded_at=at,
        **fields,
    )
    directive.aircraft_types.set(aircraft_types)
    directive.component_kinds.set(component_kinds)
    data = {
        **fields,
        "aircraft_types": [one.designation for one in aircraft_types],
        "component_kinds": [one.part_number for one in component_kinds],
        "supersedes": supersedes.id if supersedes else None,
    }
    _conclude(fleet, _entry("directive_add", "directive", directive, by, at, data), by, at)
    return directive


@transaction.atomic
def assess_directive(
    *,
    directive: Directive,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    decision: str,
    reason: str,
    component: Component | None = None,
    assessment_id: UUID | None = None,
) -> tuple[DirectiveAssessment, Verdict]:
    """Decide whether a directive applies to an aircraft, or to a component in it. A later decision replaces an earlier."""
    require_role(by, DECIDERS, "assess directives")
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    if component is not None and home_of(component) != aircraft:
        raise invalid("/component", "not_here", "The component is not in this aircraft.")
    decided = DirectiveAssessment.objects.create(
        id=assessment_id or uuid4(),
        directive=directive,
        aircraft=aircraft,
        component=component,
        decision=decision,
        reason=reason,
        assessed_by=by,
        assessed_at=at,
    )
    data = {
        "directive": str(directive),
        "decision": decision,
        "reason": reason,
        "component": component and component.id,
    }
    entry = _entry("directive_assess", "directive", directive, by, at, data)
    return decided, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


def current_readings(aircraft: Aircraft, component: Component | None) -> dict[str, int]:
    """Totals now of the component, else of the aircraft; empty while they are unknown."""
    if component is not None:
        return life.totals_of([component])[component.id] or {}
    total = UsageTotal.objects.filter(aircraft=aircraft).first()
    return total.amounts() if total else {}


def _check_readings(sent: Mapping[str, int], now: Mapping[str, int]) -> None:
    for name, value in sent.items():
        if name not in DIMENSIONS or value < 0:
            raise invalid(f"/readings/{name}", "reading", "Readings are whole numbers by dimension.")
        if name in now and value > now[name]:
            raise invalid(f"/readings/{name}", "beyond", f"The records show {now[name]} only. Record the usage first.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What was done to comply."""

    done_on: date
    method: str
    data_used: str
    readings: Mapping[str, int] | None = None
    findings: str = ""
    terminates: bool = False
    opening: bool = False
    done_by: str = ""
    inspection: Inspection | None = None
    found: tuple[Finding, ...] = ()


def _signature(by: Membership, aircraft: Aircraft, work: Work, at: datetime) -> Authorisation | None:
    if work.opening:
        require_role(by, OFFICERS, "take over compliances from earlier records")
        return None
    require_role(by, INSPECTORS, "sign compliances")
    return require_authorisation(by, aircraft, Privilege.RELEASE, at)


def _limits_before(task: Task, aircraft: Aircraft, component: Component | None) -> dict[str, Any] | None:
    item = DueItem.objects.filter(task=task, aircraft=aircraft, component=component).select_related("task").first()
    return None if item is None else told(read(item, own_meter=True))


def _check_applies(task: Task, aircraft: Aircraft, component: Component | None) -> None:
    if component is not None:
        fits = task.component_kind_id == component.kind_id
    else:
        fits = task.aircraft_id == aircraft.id or task.aircraft_type_id == aircraft.aircraft_type_id
    if not fits:
        raise invalid("/task", "not_applicable", "This task is not one of this aircraft or component.")


@transaction.atomic
def comply(
    *,
    task: Task,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    work: Work,
    component: Component | None = None,
    compliance_id: UUID | None = None,
) -> tuple[Compliance, list[Defect], Verdict]:
    """Record that a task was done, signed by an inspector; findings become defects in the same transaction.

    Raises NotFound, Forbidden, Conflict, Invalid.
    """
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    authorisation = _signature(by, aircraft, work, at)
    if component is not None and home_of(component) != aircraft:
        raise invalid("/component", "not_here", "The component is not in this aircraft.")
    _check_applies(task, aircraft, component)
    if work.done_on > today_in(aircraft.club, at):
        raise invalid("/done_on", "in_future", "This day is still to come.")
    now = current_readings(aircraft, component)
    readings = dict(work.readings) if work.readings is not None else now
    _check_readings(readings, now)
    if task.life_limit:
        raise Conflict("life_limit", "A life limit is not complied with: replace the component.")
    compliance = Compliance.objects.create(
        id=compliance_id or uuid4(),
        task=task,
        aircraft=aircraft,
        component=component,
        inspection=work.inspection,
        done_on=work.done_on,
        readings=readings,
        method=work.method,
        data_used=work.data_used,
        findings=work.findings,
        terminates=work.terminates,
        limits_before=_limits_before(task, aircraft, component),
        opening=work.opening,
        authorisation=authorisation,
        done_by=work.done_by or by.person.full_name,
        recorded_by=by,
        recorded_at=at,
    )
    defects, entries = reports.add(aircraft, work.found, by=by, at=at)
    entry = _compliance_entry(compliance, by, at)
    verdict = assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry, *entries]})[aircraft.id]
    return compliance, defects, verdict


def _compliance_entry(compliance: Compliance, by: Membership, at: datetime) -> events.Entry:
    data = {
        "task": compliance.task.code,
        "component": compliance.component_id,
        "done_on": compliance.done_on,
        "readings": compliance.readings,
        "method": compliance.method,
        "data_used": compliance.data_used,
        "findings": compliance.findings,
        "terminates": compliance.terminates,
        "opening": compliance.opening,
        "licence_number": compliance.authorisation.licence_number if compliance.authorisation else None,
    }
    return _entry("task_comply", "task", compliance.task, by, at, data)
