"""Tasks, directives and compliances as the review knows them."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import cast
from uuid import UUID

from django.db.models import Q

from fleet.airworthiness.due_facts import Decision, DueFact
from fleet.airworthiness.review.known import DirectiveKnown, LastDone, TaskKnown, WorkKnown
from fleet.models import Aircraft, Component, Installation
from fleet.permissions import today_in
from inspections.continuing import concerned
from inspections.models import Compliance, Directive, DirectiveAssessment, DueItem
from inspections.services.limits import read

Place = tuple[UUID, UUID | None]  # directive, component


def named(component: Component) -> str:
    """As the rules name it."""
    return f"{component.kind.designation} {component.serial_number}"


def _last(done: Compliance | None) -> LastDone | None:
    if done is None:
        return None
    return LastDone(on=done.done_on, by=done.done_by, method=done.method, taken_over=done.opening)


def items_of(aircraft: Aircraft) -> list[DueItem]:
    """Due items of the aircraft and of what is in it, those of directives too. One query."""
    rows = DueItem.objects.filter(aircraft=aircraft).select_related("task", "last")
    return list(rows.order_by("task__code", "component_id"))


def tasks(items: Sequence[DueItem], facts: Sequence[DueFact]) -> Iterator[TaskKnown]:
    """Tasks that no directive demands, with the facts of the rules."""
    by_subject = {(fact.task_id, fact.subject_id): fact for fact in facts}
    for item in items:
        fact = by_subject.get((str(item.task_id), str(item.component_id or item.aircraft_id)))
        if fact is not None:
            yield TaskKnown(fact=fact, code=item.task.code, basis=item.task.basis, last=_last(item.last))


def _in_force(aircraft: Aircraft) -> list[Directive]:
    rows = Directive.objects.filter(club_id=aircraft.club_id, superseded_by=None)
    return list(rows.prefetch_related("aircraft_types", "component_kinds"))


def _decisions(aircraft: Aircraft) -> Mapping[Place, DirectiveAssessment]:
    latest = (
        DirectiveAssessment.objects.filter(aircraft=aircraft)
        .select_related("assessed_by__person")
        .order_by("directive_id", "component_id", "-assessed_at")
        .distinct("directive_id", "component_id")
    )
    return {(one.directive_id, one.component_id): one for one in latest}


def _decided(decision: DirectiveAssessment | None, aircraft: Aircraft) -> str:
    if decision is None:
        return ""
    on = today_in(aircraft.club, decision.assessed_at)
    return f"{decision.reason} ({decision.assessed_by.person.full_name}, {on})"


def directives(
    aircraft: Aircraft, items: Sequence[DueItem], inside: Sequence[Installation]
) -> Iterator[DirectiveKnown]:
    """Each demand of each directive in force that may concern the aircraft or what is in it. Four queries."""
    decisions = _decisions(aircraft)
    names = {one.component_id: named(one.component) for one in inside}
    for directive, component_id in concerned(_in_force(aircraft), aircraft, inside):
        decision = decisions.get((directive.id, component_id))
        demands: list[DueItem | None] = [
            item for item in items if item.task.directive_id == directive.id and item.component_id == component_id
        ]
        for item in demands or [None]:
            yield DirectiveKnown(
                reference=str(directive),
                title=directive.title,
                issuer=directive.issuer,
                effective_on=directive.effective_on,
                component=names[component_id] if component_id else "",
                decision=cast(Decision, decision.decision) if decision else None,
                decided=_decided(decision, aircraft),
                limits=read(item) if item is not None else None,
                last=_last(item.last) if item is not None else None,
            )


def work(aircraft: Aircraft, components: Sequence[Component], since: date | None) -> Iterator[WorkKnown]:
    """Compliances on the aircraft and on what is in it now, wherever it was then. One query."""
    rows = Compliance.objects.filter(Q(aircraft=aircraft) | Q(component__in=components))
    if since is not None:
        rows = rows.filter(done_on__gte=since)
    for done in rows.select_related("task", "component__kind", "authorisation", "recorded_by__person"):
        on = f", {named(done.component)}" if done.component else ""
        licence = done.authorisation and done.authorisation.licence_number
        yield WorkKnown(
            on=done.done_on,
            what=f"{done.task.code} {done.task.title}{on}: {done.method}",
            data_used=done.data_used,
            done_by=done.done_by,
            signed_by=f"{done.recorded_by.person.full_name}, {licence}" if licence else "",
        )
