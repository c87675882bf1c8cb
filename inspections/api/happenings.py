"""Occurrences and rigging events."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import OuterRef, QuerySet, Subquery
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.api.verdicts import shown_member, shown_verdict
from fleet.permissions import MEMBERS_WHO_WRITE, WALKERS
from inspections import selectors
from inspections.api.shapes import (
    OccurrenceBody,
    OccurrenceReportedShape,
    OccurrenceShape,
    RiggingBody,
    RiggingRecordedShape,
    RiggingShape,
)
from inspections.models import (
    Inspection,
    InspectionKind,
    Occurrence,
    OccurrenceKind,
    RiggingEvent,
)
from inspections.services import events


class OccurrenceFilter(django_filters.FilterSet):
    """By aircraft, kind, and whether it has been answered."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    kind = django_filters.MultipleChoiceFilter(choices=OccurrenceKind.choices)
    answered = django_filters.BooleanFilter(field_name="answered_by", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Occurrence
        fields: tuple[str, ...] = ()


def occurrences_of(club_id: UUID) -> QuerySet[Any, Any]:
    """Occurrences with the complete unscheduled inspection that answered them, in one query."""
    answer = Inspection.objects.filter(
        occurrence=OuterRef("id"), kind=InspectionKind.UNSCHEDULED, complete=True
    ).order_by("recorded_at")
    return (
        selectors.occurrences_of(club_id)
        .select_related("aircraft", "reported_by__person")
        .annotate(answered_by=Subquery(answer.values("id")[:1]))
    )


def shown_occurrence(occurrence: Any) -> dict[str, Any]:
    """An occurrence in JSON types."""
    return {
        "id": occurrence.id,
        "aircraft": occurrence.aircraft_id,
        "registration": occurrence.aircraft.registration,
        "kind": occurrence.kind,
        "occurred_at": occurrence.occurred_at,
        "description": occurrence.description,
        "reported_by": shown_member(occurrence.reported_by),
        "reported_at": occurrence.reported_at,
        "report_due_at": occurrence.report_due_at,
        "answered_by": occurrence.answered_by,
    }


def shown_rigging(event: RiggingEvent) -> dict[str, Any]:
    """A rigging event in JSON types."""
    return {
        "id": event.id,
        "aircraft": event.aircraft_id,
        "registration": event.aircraft.registration,
        "kind": event.kind,
        "occurred_at": event.occurred_at,
        "recorded_by": shown_member(event.recorded_by),
        "recorded_at": event.recorded_at,
    }


class OccurrencesView(ListView):
    """Occurrences."""

    permits = {"POST": MEMBERS_WHO_WRITE}
    bodies = {"POST": OccurrenceBody}
    answers = {"GET": OccurrenceShape, "POST": OccurrenceReportedShape}
    filterset_class = OccurrenceFilter
    ordering = "-reported_at"

    def get(self, request: Request) -> Response:
        """Occurrences, newest first."""
        return self.page(occurrences_of(self.club.id), shown_occurrence)

    def post(self, request: Request) -> Response:
        """Report an occurrence. It grounds until an inspector's unscheduled inspection answers it."""
        sent = self.validated()
        occurrence, verdict = events.report_occurrence(
            aircraft_id=sent["aircraft"],
            by=self.member,
            at=self.now,
            kind=sent["kind"],
            occurred_at=sent["occurred_at"],
            description=sent["description"],
            occurrence_id=sent.get("id"),
        )
        body = shown_occurrence(occurrences_of(self.club.id).get(id=occurrence.id))
        answer = {**body, "airworthiness": shown_verdict(verdict)}
        return self.created(answer, f"/api/v1/occurrences/{occurrence.id}", representation=body)


class OccurrenceView(ClubView):
    """One occurrence."""

    answers = {"GET": OccurrenceShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The occurrence, and the inspection that answered it."""
        return Response(shown_occurrence(self.get_or_404(occurrences_of(self.club.id), pk)))


class RiggingFilter(django_filters.FilterSet):
    """By aircraft and kind."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    kind = django_filters.ChoiceFilter(choices=RiggingEvent.Kind.choices)

    class Meta:
        model = RiggingEvent
        fields: tuple[str, ...] = ()


def rigging_events_of(club_id: UUID) -> QuerySet[RiggingEvent]:
    """Rigging events with what their representation shows."""
    return selectors.rigging_events_of(club_id).select_related("aircraft", "recorded_by__person")


class RiggingEventsView(ListView):
    """Rigging events."""

    permits = {"POST": WALKERS}
    bodies = {"POST": RiggingBody}
    answers = {"GET": RiggingShape, "POST": RiggingRecordedShape}
    filterset_class = RiggingFilter
    ordering = "-recorded_at"

    def get(self, request: Request) -> Response:
        """Rigging events, newest first."""
        return self.page(rigging_events_of(self.club.id), shown_rigging)

    def post(self, request: Request) -> Response:
        """Record that an aircraft was rigged or derigged. It grounds until an after-rigging inspection."""
        sent = self.validated()
        event, verdict = events.record_rigging(
            aircraft_id=sent["aircraft"],
            by=self.member,
            at=self.now,
            kind=sent["kind"],
            occurred_at=sent["occurred_at"],
            event_id=sent.get("id"),
        )
        body = shown_rigging(rigging_events_of(self.club.id).get(id=event.id))
        answer = {**body, "airworthiness": shown_verdict(verdict)}
        return self.created(answer, f"/api/v1/rigging-events/{event.id}", representation=body)


class RiggingEventView(ClubView):
    """One rigging event."""

    answers = {"GET": RiggingShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The rigging event."""
        return Response(shown_rigging(self.get_or_404(rigging_events_of(self.club.id), pk)))
