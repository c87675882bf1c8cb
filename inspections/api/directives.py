"""Directives, and whether they apply."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import with_airworthiness
from fleet.api.base import ClubView
from fleet.api.fields import CivilDate, ClientId, Id, Text
from fleet.api.listing import ListView
from fleet.api.verdicts import AirworthinessShape, MemberShape, shown_member
from fleet.models import AircraftType, Component, ComponentKind
from inspections.models import Directive, DirectiveAssessment
from inspections.services import directives
from inspections.services.recording import DECIDERS, OFFICERS


class DirectiveBody(serializers.Serializer[Any]):
    """A directive or a revision of one; its tasks are added with POST /tasks."""

    id = ClientId()
    reference = Text(max_length=60)
    revision = Text(max_length=20, allow_blank=True, default="")
    title = Text(max_length=200)
    issuer = Text(max_length=80)
    issued_on = CivilDate()
    effective_on = CivilDate()
    aircraft_types = serializers.ListField(child=Id(), default=list, max_length=100)
    component_kinds = serializers.ListField(child=Id(), default=list, max_length=100)
    serial_from = Text(
        max_length=40, allow_blank=True, default="", help_text="First serial number; blank: from the first."
    )
    serial_to = Text(max_length=40, allow_blank=True, default="", help_text="Last serial number; blank: to the last.")
    supersedes = Id(required=False, help_text="The directive that this one replaces.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """It must concern something."""
        if not attrs["aircraft_types"] and not attrs["component_kinds"]:
            raise serializers.ValidationError(
                {"aircraft_types": ["Name the types or component kinds that it concerns."]}
            )
        return attrs


class DirectiveShape(serializers.Serializer[Any]):
    """A directive."""

    id = serializers.UUIDField()
    reference = serializers.CharField()
    revision = serializers.CharField(allow_blank=True)
    title = serializers.CharField()
    issuer = serializers.CharField()
    issued_on = serializers.DateField()
    effective_on = serializers.DateField()
    aircraft_types = serializers.ListField(child=serializers.UUIDField())
    component_kinds = serializers.ListField(child=serializers.UUIDField())
    serial_from = serializers.CharField(allow_blank=True)
    serial_to = serializers.CharField(allow_blank=True)
    supersedes = serializers.UUIDField(allow_null=True)
    superseded_by = serializers.UUIDField(allow_null=True)
    tasks = serializers.ListField(child=serializers.UUIDField())
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


def directives_of(club_id: UUID) -> QuerySet[Directive]:
    """Every directive of the club with what its representation shows."""
    return (
        Directive.objects.filter(club_id=club_id)
        .select_related("recorded_by__person", "superseded_by")
        .prefetch_related("aircraft_types", "component_kinds", "tasks")
    )


def shown(directive: Directive) -> dict[str, Any]:
    """A directive in JSON types."""
    newer = getattr(directive, "superseded_by", None)
    names = ("id", "reference", "revision", "title", "issuer", "issued_on", "effective_on")
    return {
        **{name: getattr(directive, name) for name in names},
        "aircraft_types": sorted(str(one.id) for one in directive.aircraft_types.all()),
        "component_kinds": sorted(str(one.id) for one in directive.component_kinds.all()),
        "serial_from": directive.serial_from,
        "serial_to": directive.serial_to,
        "supersedes": directive.supersedes_id,
        "superseded_by": newer.id if newer else None,
        "tasks": sorted(str(task.id) for task in directive.tasks.all()),
        "recorded_by": shown_member(directive.recorded_by),
        "recorded_at": directive.recorded_at,
    }


class DirectiveFilter(django_filters.FilterSet):
    """By reference, what it concerns, and whether it is in force."""

    reference = django_filters.CharFilter()
    aircraft_type = django_filters.UUIDFilter(field_name="aircraft_types")
    component_kind = django_filters.UUIDFilter(field_name="component_kinds")
    superseded = django_filters.BooleanFilter(field_name="superseded_by", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Directive
        fields: tuple[str, ...] = ()


class DirectivesView(ListView):
    """Airworthiness directives and mandatory bulletins."""

    permits = {"POST": OFFICERS}
    bodies = {"POST": DirectiveBody}
    answers = {"GET": DirectiveShape, "POST": DirectiveShape}
    filterset_class = DirectiveFilter
    ordering = "-recorded_at"

    def get(self, request: Request) -> Response:
        """Directives, newest first."""
        return self.page(directives_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Record a directive. What it may concern is grounded until somebody has assessed it."""
        sent = self.validated()
        directive = directives.add_directive(
            by=self.member,
            at=self.now,
            aircraft_types=self._named(AircraftType, sent.pop("aircraft_types"), "aircraft_types"),
            component_kinds=self._named(ComponentKind, sent.pop("component_kinds"), "component_kinds"),
            supersedes=self._superseded(sent.pop("supersedes", None)),
            directive_id=sent.pop("id", None),
            **sent,
        )
        body = shown(directives_of(self.club.id).get(id=directive.id))
        return self.created(body, f"/api/v1/directives/{directive.id}")

    def _superseded(self, record_id: UUID | None) -> Directive | None:
        if record_id is None:
            return None
        return self.get_or_404(Directive.objects.filter(club_id=self.club.id), record_id, pointer="/supersedes")

    def _named(self, model: Any, ids: list[UUID], name: str) -> list[Any]:
        rows = model.objects.filter(club_id=self.club.id)
        return [self.get_or_404(rows, one, pointer=f"/{name}/{place}") for place, one in enumerate(ids)]


class DirectiveView(ClubView):
    """One directive."""

    answers = {"GET": DirectiveShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The directive."""
        return Response(shown(self.get_or_404(directives_of(self.club.id), pk)))


class AssessmentBody(serializers.Serializer[Any]):
    """A decision whether a directive applies."""

    id = ClientId()
    directive = Id()
    aircraft = Id()
    component = Id(required=False, help_text="A component in this aircraft, for a directive on its kind.")
    decision = serializers.ChoiceField(DirectiveAssessment.Decision.choices)
    reason = Text(max_length=2000)


class AssessmentShape(serializers.Serializer[Any]):
    """A decision whether a directive applies."""

    id = serializers.UUIDField()
    directive = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    component = serializers.UUIDField(allow_null=True)
    decision = serializers.ChoiceField(DirectiveAssessment.Decision.choices)
    reason = serializers.CharField()
    assessed_by = MemberShape()
    assessed_at = serializers.DateTimeField()


class AssessedShape(AssessmentShape):
    """With the verdict as committed."""

    airworthiness = AirworthinessShape()


def assessments_of(club_id: UUID) -> QuerySet[DirectiveAssessment]:
    """Every decision of the club."""
    return DirectiveAssessment.objects.filter(directive__club_id=club_id).select_related("assessed_by__person")


def shown_assessment(one: DirectiveAssessment) -> dict[str, Any]:
    """A decision in JSON types."""
    return {
        "id": one.id,
        "directive": one.directive_id,
        "aircraft": one.aircraft_id,
        "component": one.component_id,
        "decision": one.decision,
        "reason": one.reason,
        "assessed_by": shown_member(one.assessed_by),
        "assessed_at": one.assessed_at,
    }


class AssessmentFilter(django_filters.FilterSet):
    """By directive and aircraft."""

    directive = django_filters.UUIDFilter(field_name="directive_id")
    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")

    class Meta:
        model = DirectiveAssessment
        fields: tuple[str, ...] = ()


class AssessmentsView(ListView):
    """Decisions whether directives apply."""

    permits = {"POST": DECIDERS}
    bodies = {"POST": AssessmentBody}
    answers = {"GET": AssessmentShape, "POST": AssessedShape}
    filterset_class = AssessmentFilter
    ordering = "-assessed_at"

    def get(self, request: Request) -> Response:
        """Decisions, newest first; the newest for a directive and its subject counts."""
        return self.page(assessments_of(self.club.id), shown_assessment)

    def post(self, request: Request) -> Response:
        """Decide whether a directive applies to an aircraft, or to a component in it."""
        sent = self.validated()
        directive = self.get_or_404(
            Directive.objects.filter(club_id=self.club.id), sent.pop("directive"), pointer="/directive"
        )
        component = self._component(sent.pop("component", None))
        decided, verdict = directives.assess_directive(
            directive=directive,
            aircraft_id=sent.pop("aircraft"),
            by=self.member,
            at=self.now,
            component=component,
            assessment_id=sent.pop("id", None),
            **sent,
        )
        body = shown_assessment(decided)
        address = f"/api/v1/directive-assessments/{decided.id}"
        return self.created(with_airworthiness(body, verdict), address, representation=body)

    def _component(self, component_id: UUID | None) -> Component | None:
        if component_id is None:
            return None
        rows = Component.objects.filter(kind__club_id=self.club.id).select_related("kind")
        return self.get_or_404(rows, component_id, pointer="/component")


class AssessmentView(ClubView):
    """One decision."""

    answers = {"GET": AssessmentShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The decision."""
        return Response(shown_assessment(self.get_or_404(assessments_of(self.club.id), pk)))
