"""An aircraft with something of everything that a review looks at."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from fleet.models import Aircraft, Club, Component, Role
from inspections.models import Directive, Task
from inspections.services.directives import assess_directive
from tests.factories import (
    add_documents,
    deferred,
    fresh,
    installed,
    make_aircraft,
    make_component,
    make_kind,
    make_position,
    member_of,
    no_defect,
    released,
)
from tests.factories.programme import complied, make_directive, make_task
from tests.factories.usage import flown, opened

MARCH, APRIL = date(2025, 3, 10), date(2025, 4, 10)


def noon(day: date) -> datetime:
    """Of a day."""
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Reviewed:
    """The aircraft, and what was made for it."""

    aircraft: Aircraft
    component: Component
    annual: Task
    directive: Directive


def assess(directive: Directive, aircraft: Aircraft, decision: str, at: datetime, reason: str = "By serial.") -> None:
    """Somebody decides whether it applies."""
    by = member_of(aircraft.club, Role.INSPECTOR)
    assess_directive(
        directive=directive, aircraft_id=aircraft.id, by=by, at=at, decision=decision, reason=reason, component=None
    )


def in_order(club: Club) -> Reviewed:
    """Nothing is open: usage, programme, a life-limited component, directives, papers, a deferral, closed defects."""
    aircraft = make_aircraft(club, documents=False)
    papers = ("insurance", "weighing_report", "noise_certificate", "radio_licence", "other")
    add_documents(aircraft, *papers, reference="R-7")
    certificate: dict[str, Any] = {"issued_on": date(2025, 1, 2), "expires_on": date(2026, 1, 2), "reference": "ARC-3"}
    add_documents(aircraft, "airworthiness_review_certificate", **certificate)
    opened(aircraft)
    kind = make_kind(club)
    component = make_component(kind, manufactured_on=date(2024, 5, 1), release_document="Form 1 no. 7")
    installed(component, aircraft, make_position(aircraft.aircraft_type, kind, required=True), at=noon(MARCH))
    make_task(kind, {"dimension": "launches", "every": None, "first": 2_000}, life_limit=True, title="Tow release life")
    annual = make_task(aircraft.aircraft_type, code="annual")
    directive = make_directive(club, at=noon(MARCH), effective_on=MARCH, aircraft_types=[aircraft.aircraft_type])
    demand = make_task(
        aircraft.aircraft_type, {"dimension": "days", "first": 30, "every": None}, directive=directive, at=noon(MARCH)
    )
    other = make_directive(club, at=noon(MARCH), effective_on=MARCH, aircraft_types=[aircraft.aircraft_type])
    later = noon(MARCH) + timedelta(hours=1)
    assess(directive, aircraft, "applicable", later)
    assess(other, aircraft, "not_applicable", later, "Another propeller.")
    complied(annual, aircraft, on=MARCH, at=later + timedelta(minutes=1))
    complied(demand, aircraft, on=MARCH, at=later + timedelta(minutes=2), method="Replaced the bolt.")
    flown(aircraft, flown_on=APRIL, at=noon(APRIL), airframe_minutes=90)
    released(aircraft, at=noon(APRIL), critical=True, description="Bolt head marked.")
    no_defect(aircraft, at=noon(APRIL) + timedelta(hours=1), description="Shadow on the wing.")
    deferred(aircraft, at=noon(APRIL) + timedelta(hours=2), days=400, description="Tape lifts.")
    return Reviewed(fresh(aircraft), component, annual, directive)
