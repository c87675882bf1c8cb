"""Tasks, directives, and what was done."""

from datetime import date, datetime
from itertools import count
from typing import Any

from defects.models import Defect
from fleet.airworthiness.verdict import Verdict
from fleet.models import Aircraft, AircraftType, Club, Component, ComponentKind, Role
from inspections.models import Compliance, Directive, Task
from inspections.services import compliances, directives, programme
from inspections.services.compliances import Work
from inspections.services.programme import TaskOf
from tests.factories.clubs import member_of
from tests.factories.constants import FOUNDED

_numbers = count(1)
ANNUAL = {"dimension": "months", "every": 12, "tolerance": 1, "tolerance_in": "months", "notice": 30}


def make_task(
    of: AircraftType | Aircraft | ComponentKind, *limits: dict[str, Any], at: datetime = FOUNDED, **fields: Any
) -> Task:
    """A mandatory task; an annual inspection with a month of tolerance unless limits are given."""
    place = {AircraftType: "aircraft_type", Aircraft: "aircraft", ComponentKind: "component_kind"}[type(of)]
    said = {"code": f"task-{next(_numbers)}", "title": "Annual inspection", "basis": "Programme issue 1"} | fields
    by = member_of(of.club, Role.TECHNICAL_OFFICER)
    chosen = [dict(limit) for limit in limits or (ANNUAL,)]
    for limit in chosen:
        calendar = limit["dimension"] in ("days", "months", "calendar_months")
        limit.setdefault("tolerance_in", "days" if calendar else "")
    place_of: dict[str, Any] = {place: of}
    return programme.add_task(by=by, at=at, of=TaskOf(**place_of), limits=chosen, **said)


def complied(
    task: Task, aircraft: Aircraft, *, on: date, at: datetime, component: Component | None = None, **fields: Any
) -> tuple[Compliance, list[Defect], Verdict]:
    """Signed by an inspector, or taken over by the technical officer with ``opening=True``."""
    role = Role.TECHNICAL_OFFICER if fields.get("opening") else Role.INSPECTOR
    said = {"method": "Done.", "data_used": "Maintenance manual issue 2"} | fields
    return compliances.comply(
        task=task,
        aircraft_id=aircraft.id,
        by=member_of(aircraft.club, role),
        at=at,
        work=Work(done_on=on, **said),
        component=component,
    )


def make_directive(club: Club, *, at: datetime, effective_on: date, **fields: Any) -> Directive:
    """A directive on what ``aircraft_types`` or ``component_kinds`` name."""
    said = {"reference": f"AD-{next(_numbers)}", "title": "Inspect the spar", "issuer": "Invented Authority"} | fields
    return directives.add_directive(
        by=member_of(club, Role.TECHNICAL_OFFICER),
        at=at,
        issued_on=effective_on,
        effective_on=effective_on,
        **said,
    )
