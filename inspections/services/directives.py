"""Directives, and the decision whether they apply."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from fleet import assessment
from fleet.airworthiness.verdict import Verdict
from fleet.errors import invalid
from fleet.life import home_of
from fleet.models import (
    Aircraft,
    AircraftType,
    Component,
    ComponentKind,
    Membership,
)
from fleet.permissions import require_role
from inspections.models import Directive, DirectiveAssessment
from inspections.services.recording import DECIDERS, OFFICERS, conclude, entry_of


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
    conclude(fleet, entry_of("directive_add", "directive", directive, by, at, data), by, at)
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
    entry = entry_of("directive_assess", "directive", directive, by, at, data)
    return decided, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]
