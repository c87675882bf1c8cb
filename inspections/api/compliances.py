"""Compliances: what was done of the programme."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from defects.services import reports
from defects.services.reports import Finding
from fleet.airworthiness.due import Dimension
from fleet.api.answers import with_airworthiness
from fleet.api.base import ClubView
from fleet.api.fields import CivilDate, ClientId, Flag, Id, ItemCode, Text, Whole
from fleet.api.listing import ListView
from fleet.api.verdicts import AirworthinessShape, MemberShape, shown_member
from fleet.models import Aircraft, Component
from inspections.models import Compliance, Inspection, Task
from inspections.services import compliances
from inspections.services.compliances import Work
from inspections.services.recording import DECIDERS


class ReadingsBody(serializers.Serializer[Any]):
    """Totals by dimension; a missing one is unknown."""

    airframe_minutes = Whole(min_value=0, required=False)
    launches = Whole(min_value=0, required=False)
    landings = Whole(min_value=0, required=False)
    engine_minutes = Whole(min_value=0, required=False)
    engine_starts = Whole(min_value=0, required=False)
    cycles = Whole(min_value=0, required=False)


class FindingBody(serializers.Serializer[Any]):
    """Something found while the task was done; it becomes a defect."""

    description = Text(max_length=4000)
    item = ItemCode(required=False, allow_null=True)


class ComplianceBody(serializers.Serializer[Any]):
    """What was done."""

    id = ClientId()
    task = Id()
    aircraft = Id()
    component = Id(required=False, help_text="For a task of its kind: the component in this aircraft.")
    inspection = Id(required=False, help_text="The periodic inspection that covers the task.")
    done_on = CivilDate()
    readings = ReadingsBody(required=False, help_text="When it was done; those of now, if left out.")
    method = Text(max_length=4000)
    data_used = Text(max_length=500, help_text="Maintenance data with its issue.")
    findings = FindingBody(many=True, required=False)
    done_by = Text(max_length=120, required=False, help_text="You, if left out.")
    terminates = Flag(default=False, help_text="A directive's terminating action.")
    opening = Flag(
        default=False, help_text="Taken over from earlier records by the technical officer; not signed here."
    )


class ComplianceShape(serializers.Serializer[Any]):
    """A compliance."""

    id = serializers.UUIDField()
    task = serializers.UUIDField()
    task_code = serializers.CharField()
    aircraft = serializers.UUIDField()
    component = serializers.UUIDField(allow_null=True)
    inspection = serializers.UUIDField(allow_null=True)
    done_on = serializers.DateField()
    readings = serializers.DictField(child=serializers.IntegerField())
    method = serializers.CharField()
    data_used = serializers.CharField()
    findings = serializers.CharField(allow_blank=True)
    terminates = serializers.BooleanField()
    opening = serializers.BooleanField()
    done_by = serializers.CharField()
    licence_number = serializers.CharField(allow_null=True)
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


class CompliedShape(ComplianceShape):
    """With the defects that it raised and the verdict as committed."""

    defects = serializers.ListField(child=serializers.UUIDField())
    airworthiness = AirworthinessShape()


def compliances_of(club_id: UUID) -> QuerySet[Compliance]:
    """Every compliance of the club with what its representation shows."""
    rows = Compliance.objects.filter(task__club_id=club_id)
    return rows.select_related("task", "authorisation", "recorded_by__person")


def shown(one: Compliance) -> dict[str, Any]:
    """A compliance in JSON types."""
    names = ("done_on", "readings", "method", "data_used", "findings", "terminates", "opening", "done_by")
    return {
        "id": one.id,
        "task": one.task_id,
        "task_code": one.task.code,
        "aircraft": one.aircraft_id,
        "component": one.component_id,
        "inspection": one.inspection_id,
        **{name: getattr(one, name) for name in names},
        "licence_number": one.authorisation.licence_number if one.authorisation else None,
        "recorded_by": shown_member(one.recorded_by),
        "recorded_at": one.recorded_at,
    }


class ComplianceFilter(django_filters.FilterSet):
    """By task, aircraft, component and date."""

    task = django_filters.UUIDFilter(field_name="task_id")
    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    component = django_filters.UUIDFilter(field_name="component_id")
    done_after = django_filters.DateFilter(field_name="done_on", lookup_expr="gte")
    done_before = django_filters.DateFilter(field_name="done_on", lookup_expr="lt")

    class Meta:
        model = Compliance
        fields: tuple[str, ...] = ()


class CompliancesView(ListView):
    """What was done of the programme."""

    permits = {"POST": DECIDERS}
    bodies = {"POST": ComplianceBody}
    answers = {"GET": ComplianceShape, "POST": CompliedShape}
    filterset_class = ComplianceFilter
    ordering = "-recorded_at"

    def get(self, request: Request) -> Response:
        """Compliances, newest first."""
        return self.page(compliances_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Sign that a task was done. What it found becomes defects in the same transaction."""
        sent = self.validated()
        club = {"club_id": self.club.id}
        task = self.get_or_404(Task.objects.filter(**club), sent["task"], pointer="/task")
        aircraft = self.get_or_404(Aircraft.objects.filter(**club), sent["aircraft"], pointer="/aircraft")
        compliance, defects, verdict = compliances.comply(
            task=task,
            aircraft_id=aircraft.id,
            by=self.member,
            at=self.now,
            work=self._work(sent, aircraft),
            component=self._component(sent.get("component")),
            compliance_id=sent.get("id"),
        )
        body = shown(compliances_of(self.club.id).get(id=compliance.id))
        answer = {**with_airworthiness(body, verdict), "defects": [defect.id for defect in defects]}
        return self.created(answer, f"/api/v1/compliances/{compliance.id}", representation=body)

    def _component(self, component_id: UUID | None) -> Component | None:
        if component_id is None:
            return None
        rows = Component.objects.filter(kind__club_id=self.club.id).select_related("kind")
        return self.get_or_404(rows, component_id, pointer="/component")

    def _work(self, sent: dict[str, Any], aircraft: Aircraft) -> Work:
        findings = sent.get("findings", [])
        inspection = sent.get("inspection")
        rows = Inspection.objects.filter(aircraft=aircraft)
        return Work(
            done_on=sent["done_on"],
            method=sent["method"],
            data_used=sent["data_used"],
            readings=_readings(sent.get("readings")),
            findings="; ".join(one["description"] for one in findings),
            terminates=sent["terminates"],
            opening=sent["opening"],
            done_by=sent.get("done_by", ""),
            inspection=None if inspection is None else self.get_or_404(rows, inspection, pointer="/inspection"),
            found=tuple(self._finding(aircraft, one) for one in findings),
        )

    def _finding(self, aircraft: Aircraft, sent: dict[str, Any]) -> Finding:
        return Finding(
            description=sent["description"],
            item=reports.item_of(aircraft, sent.get("item")),
            found_at=self.now,
            found_during="maintenance",
        )


def _readings(sent: dict[str, int] | None) -> dict[str, int] | None:
    return None if sent is None else {str(name): sent[name] for name in Dimension if name in sent}


class ComplianceView(ClubView):
    """One compliance."""

    answers = {"GET": ComplianceShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The compliance."""
        return Response(shown(self.get_or_404(compliances_of(self.club.id), pk)))
