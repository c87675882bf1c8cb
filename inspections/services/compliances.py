"""Compliances: what was done, signed, and what it found."""

from collections.abc import Mapping
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
    Authorisation,
    Component,
    Membership,
    Privilege,
    UsageTotal,
)
from fleet.permissions import INSPECTORS, require_authorisation, require_role, today_in
from inspections.models import Compliance, DueItem, Inspection, Task
from inspections.services.limits import read, told
from inspections.services.recording import OFFICERS, entry_of


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
    return entry_of("task_comply", "task", compliance.task, by, at, data)
