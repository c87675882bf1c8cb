"""Tasks of the maintenance programme."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Flag, Id, ItemCode, Text, Whole
from fleet.api.listing import ListView
from fleet.models import Aircraft, AircraftType, ComponentKind
from inspections.models import Counting, Directive, LimitDimension, Task
from inspections.services import programme
from inspections.services.programme import TaskOf
from inspections.services.recording import OFFICERS

LIMIT_FIELDS = ("dimension", "first", "every", "tolerance", "tolerance_in", "notice")


class LimitBody(serializers.Serializer[Any]):
    """One dimension of an interval: minutes, whole numbers, days or months."""

    dimension = serializers.ChoiceField(LimitDimension.choices)
    first = Whole(min_value=1, allow_null=True, default=None, help_text="First interval, if it differs.")
    every = Whole(min_value=1, allow_null=True, default=None, help_text="null: once.")
    tolerance = Whole(min_value=0, default=0)
    tolerance_in = serializers.ChoiceField(["days", "months"], required=False, help_text="Of a calendar limit.")
    notice = Whole(min_value=0, default=0, help_text="Due soon so much before; in days for a calendar limit.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """A calendar tolerance is in days unless it says months."""
        calendar = attrs["dimension"] in ("days", "months", "calendar_months")
        if not calendar and "tolerance_in" in attrs:
            raise serializers.ValidationError({"tolerance_in": ["Only a calendar limit has it."]})
        attrs["tolerance_in"] = attrs.get("tolerance_in", "days") if calendar else ""
        return attrs


class ChangeTaskBody(serializers.Serializer[Any]):
    """What of a task may change. What was done under it stays."""

    title = Text(max_length=200)
    basis = Text(max_length=200, help_text="Programme, manual, regulation or directive, with its issue.")
    mandatory = Flag(default=True)
    counting = serializers.ChoiceField(Counting.choices, default=Counting.FROM_ACTUAL)
    limits = LimitBody(many=True, allow_empty=False)


class PatchTaskBody(ChangeTaskBody):
    """Also whether it is in force."""

    active = Flag()


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "An annual inspection with one month of tolerance",
            request_only=True,
            value={
                "aircraft_type": "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20",
                "code": "annual",
                "title": "Annual inspection",
                "basis": "Maintenance programme issue 2",
                "limits": [
                    {"dimension": "months", "every": 12, "tolerance": 1, "tolerance_in": "months", "notice": 30}
                ],
            },
        )
    ]
)
class TaskBody(ChangeTaskBody):
    """A new task: of a type, of one aircraft or of a component kind."""

    id = ClientId()
    code = ItemCode()
    aircraft_type = Id(required=False)
    aircraft = Id(required=False)
    component_kind = Id(required=False)
    directive = Id(required=False, help_text="The directive that demands it.")
    life_limit = Flag(default=False, help_text="Of a component: no tolerance, not repeated.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Exactly one thing that it is to be done on."""
        if sum(name in attrs for name in ("aircraft_type", "aircraft", "component_kind")) != 1:
            raise serializers.ValidationError(
                {"aircraft_type": ["Name one of aircraft_type, aircraft, component_kind."]}
            )
        if attrs["life_limit"] and "component_kind" not in attrs:
            raise serializers.ValidationError({"component_kind": ["A life limit is one of a component kind."]})
        return attrs


class LimitShape(serializers.Serializer[Any]):
    """One dimension of an interval."""

    dimension = serializers.ChoiceField(LimitDimension.choices)
    first = serializers.IntegerField(allow_null=True)
    every = serializers.IntegerField(allow_null=True)
    tolerance = serializers.IntegerField()
    tolerance_in = serializers.CharField(allow_blank=True)
    notice = serializers.IntegerField()


class TaskShape(serializers.Serializer[Any]):
    """A task."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    title = serializers.CharField()
    basis = serializers.CharField()
    aircraft_type = serializers.UUIDField(allow_null=True)
    aircraft = serializers.UUIDField(allow_null=True)
    component_kind = serializers.UUIDField(allow_null=True)
    directive = serializers.UUIDField(allow_null=True)
    mandatory = serializers.BooleanField()
    life_limit = serializers.BooleanField()
    counting = serializers.ChoiceField(Counting.choices)
    active = serializers.BooleanField()
    limits = LimitShape(many=True)


def tasks_of(club_id: UUID) -> QuerySet[Task]:
    """Every task of the club with its limits; two queries a page."""
    return Task.objects.filter(club_id=club_id).prefetch_related("limits")


def shown(task: Task) -> dict[str, Any]:
    """A task in JSON types."""
    limits = sorted(task.limits.all(), key=lambda limit: limit.dimension)
    return {
        "id": task.id,
        "code": task.code,
        "title": task.title,
        "basis": task.basis,
        "aircraft_type": task.aircraft_type_id,
        "aircraft": task.aircraft_id,
        "component_kind": task.component_kind_id,
        "directive": task.directive_id,
        "mandatory": task.mandatory,
        "life_limit": task.life_limit,
        "counting": task.counting,
        "active": task.active,
        "limits": [{name: getattr(limit, name) for name in LIMIT_FIELDS} for limit in limits],
    }


class TaskFilter(django_filters.FilterSet):
    """By what it is of, and whether it is in force."""

    aircraft_type = django_filters.UUIDFilter(field_name="aircraft_type_id")
    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    component_kind = django_filters.UUIDFilter(field_name="component_kind_id")
    directive = django_filters.UUIDFilter(field_name="directive_id")
    active = django_filters.BooleanFilter()
    mandatory = django_filters.BooleanFilter()

    class Meta:
        model = Task
        fields: tuple[str, ...] = ()


class TasksView(ListView):
    """The club's maintenance programme."""

    permits = {"POST": OFFICERS}
    bodies = {"POST": TaskBody}
    answers = {"GET": TaskShape, "POST": TaskShape}
    filterset_class = TaskFilter
    ordering = "created_at"
    ordering_fields = ("code",)

    def get(self, request: Request) -> Response:
        """Tasks, oldest first."""
        return self.page(tasks_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Add a task. While nothing is recorded from which it counts, a mandatory one grounds."""
        sent = self.validated()
        of = TaskOf(
            aircraft_type=self._named(AircraftType, sent, "aircraft_type"),
            aircraft=self._named(Aircraft, sent, "aircraft"),
            component_kind=self._named(ComponentKind, sent, "component_kind"),
        )
        directive = self._named(Directive, sent, "directive")
        task = programme.add_task(
            by=self.member, at=self.now, of=of, directive=directive, task_id=sent.pop("id", None), **sent
        )
        body = shown(tasks_of(self.club.id).get(id=task.id))
        return self.created(body, f"/api/v1/tasks/{task.id}")

    def _named(self, model: Any, sent: dict[str, Any], name: str) -> Any:
        record_id = sent.pop(name, None)
        if record_id is None:
            return None
        return self.get_or_404(model.objects.filter(club_id=self.club.id), record_id, pointer=f"/{name}")


class TaskView(ClubView):
    """One task."""

    permits = {"PATCH": OFFICERS}
    bodies = {"PATCH": PatchTaskBody}
    answers = {"GET": TaskShape, "PATCH": TaskShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The task."""
        return Response(shown(self.get_or_404(tasks_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change a task; everything that it concerns is judged anew."""
        changes = self.validated()
        task = self.get_or_404(tasks_of(self.club.id).select_for_update(of=("self",)), pk)
        self.require_match(shown(task))
        programme.change_task(task, by=self.member, at=self.now, changes=changes)
        return changed(shown(tasks_of(self.club.id).get(id=task.id)))
