"""The due list, what a planned flight would make due, and the workshop's load."""

from collections import Counter
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.airworthiness.due import Dimension, assess, becomes_due_in_flight
from fleet.airworthiness.flying_day import flying_day
from fleet.api.base import ClubView
from fleet.api.fields import Whole
from fleet.api.listing import ListView
from fleet.models import DIMENSIONS, Aircraft, UsageTotal
from inspections.models import DueItem, DueState
from inspections.services.limits import read
from inspections.services.sweep import ids_in


class DueLimitShape(serializers.Serializer[Any]):
    """One measure of a due item. Usage limits are readings of the aircraft's meter."""

    measure = serializers.CharField(help_text="A dimension of usage, or calendar.")
    notice = serializers.JSONField(help_text="Due soon from here: a reading, or a date.")
    due = serializers.JSONField(help_text="The limit.")
    hard = serializers.JSONField(help_text="The limit with its tolerance.")
    left = serializers.IntegerField(allow_null=True, help_text="In the unit of the dimension, or days.")
    state = serializers.ChoiceField(DueState.choices)


class DueItemShape(serializers.Serializer[Any]):
    """One task on one aircraft or component."""

    id = serializers.UUIDField()
    task = serializers.UUIDField()
    task_code = serializers.CharField()
    title = serializers.CharField()
    mandatory = serializers.BooleanField()
    life_limit = serializers.BooleanField()
    directive = serializers.UUIDField(allow_null=True)
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    component = serializers.UUIDField(allow_null=True)
    state = serializers.ChoiceField(DueState.choices)
    governing = serializers.CharField(allow_null=True)
    limits = DueLimitShape(many=True)
    unknown = serializers.ListField(child=serializers.CharField())
    last_done_on = serializers.DateField(allow_null=True)


def due_items_of(club_id: UUID) -> QuerySet[DueItem]:
    """Every due item of the club's aircraft with what its representation shows, in one query."""
    rows = DueItem.objects.filter(aircraft__club_id=club_id)
    return rows.select_related("task", "aircraft__club", "aircraft__usage_total", "last")


def meter_of(aircraft: Aircraft) -> dict[Dimension, int]:
    """The aircraft's totals; empty while they are unknown."""
    total: UsageTotal | None = getattr(aircraft, "usage_total", None)
    return {Dimension(name): getattr(total, name) for name in DIMENSIONS} if total else {}


def _levels(item: DueItem, measure: str) -> dict[str, Any]:
    suffix = "on" if measure == "calendar" else measure
    return {level: getattr(item, f"{level}_{suffix}") for level in ("notice", "due", "hard")}


def shown(item: DueItem, today: date) -> dict[str, Any]:
    """A due item with its state as it is now, whatever a job has stored."""
    state = assess(read(item), meter_of(item.aircraft), today)
    return {
        "id": item.id,
        "task": item.task_id,
        "task_code": item.task.code,
        "title": item.task.title,
        "mandatory": item.task.mandatory,
        "life_limit": item.task.life_limit,
        "directive": item.task.directive_id,
        "aircraft": item.aircraft_id,
        "registration": item.aircraft.registration,
        "component": item.component_id,
        "state": state.state,
        "governing": state.governing,
        "limits": [
            {"measure": one.measure, **_levels(item, one.measure), "left": one.left, "state": one.state}
            for one in state.remaining
            if one.measure not in item.unknown
        ],
        "unknown": item.unknown,
        "last_done_on": item.last.done_on if item.last else None,
    }


class DueFilter(django_filters.FilterSet):
    """By aircraft, component, task, directive, state, and the date of the calendar limit."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    component = django_filters.UUIDFilter(field_name="component_id")
    task = django_filters.UUIDFilter(field_name="task_id")
    directive = django_filters.UUIDFilter(field_name="task__directive_id")
    mandatory = django_filters.BooleanFilter(field_name="task__mandatory")
    state = django_filters.MultipleChoiceFilter(choices=DueState.choices, method="in_state")
    due_before = django_filters.DateFilter(field_name="due_on", lookup_expr="lt")

    class Meta:
        model = DueItem
        fields: tuple[str, ...] = ()

    def in_state(self, rows: Any, _name: str, wanted: list[str]) -> Any:
        """By the state as it is now: a late job must not hide what is overdue."""
        request: Any = self.request
        return rows.filter(id__in=ids_in(wanted, club_id=request.member.club_id, at=request.now)) if wanted else rows


class DueItemsView(ListView):
    """What is due on the club's aircraft."""

    answers = {"GET": DueItemShape}
    filterset_class = DueFilter
    ordering = "task__code"
    ordering_fields = ("changed_at",)

    def get(self, request: Request) -> Response:
        """Due items by the code of their task."""
        today = flying_day(self.now, self.club.time_zone)
        return self.page(due_items_of(self.club.id), lambda item: shown(item, today))


class DueItemView(ClubView):
    """One due item."""

    answers = {"GET": DueItemShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The due item."""
        today = flying_day(self.now, self.club.time_zone)
        return Response(shown(self.get_or_404(due_items_of(self.club.id), pk), today))


class FlightQuery(serializers.Serializer[Any]):
    """A planned flight."""

    airframe_minutes = Whole(min_value=1, max_value=1440)
    launches = Whole(min_value=0, max_value=100, default=1)
    landings = Whole(min_value=0, max_value=100, default=1)
    engine_minutes = Whole(min_value=0, max_value=1440, default=0)
    engine_starts = Whole(min_value=0, max_value=100, default=0)
    cycles = Whole(min_value=0, max_value=100, default=0)


class BecomesDueShape(serializers.Serializer[Any]):
    """A task that the flight would reach."""

    task = serializers.UUIDField()
    title = serializers.CharField()
    component = serializers.UUIDField(allow_null=True)
    mandatory = serializers.BooleanField()
    dimensions = serializers.ListField(child=serializers.CharField())


class FlightCheckShape(serializers.Serializer[Any]):
    """What a planned flight would make due. It is no permission to fly."""

    aircraft = serializers.UUIDField()
    becomes_due = BecomesDueShape(many=True)


class FlightCheckView(ClubView):
    """What becomes due during a planned flight (AMC M.A.301(a))."""

    permits: Mapping[str, frozenset[str]] = {}  # type: ignore[misc]
    bodies = {"POST": FlightQuery}
    answers = {"POST": FlightCheckShape}
    personal = True
    success_of_post = 200

    def post(self, request: Request, pk: UUID) -> Response:
        """Tasks whose limit the planned flight would reach. Nothing is recorded."""
        flight = {Dimension(name): value for name, value in self.validated().items()}
        aircraft = self.get_or_404(Aircraft.objects.filter(club_id=self.club.id), pk)
        found = []
        for item in due_items_of(self.club.id).filter(aircraft=aircraft).order_by("task__code"):
            dimensions = becomes_due_in_flight(read(item), meter_of(item.aircraft), flight)
            if dimensions:
                found.append(
                    {
                        "task": item.task_id,
                        "title": item.task.title,
                        "component": item.component_id,
                        "mandatory": item.task.mandatory,
                        "dimensions": list(dimensions),
                    }
                )
        return Response({"aircraft": aircraft.id, "becomes_due": found})


class WorkloadMonthShape(serializers.Serializer[Any]):
    """One month of the workshop."""

    month = serializers.CharField(help_text="YYYY-MM; overdue work stands in the current month.")
    tasks = serializers.IntegerField()


class WorkloadView(ClubView):
    """The workshop's load by month."""

    answers = {"GET": WorkloadMonthShape(many=True)}

    def get(self, request: Request) -> Response:
        """Tasks by the month of their calendar limit, for the next twelve months."""
        today = flying_day(self.now, self.club.time_zone)
        rows = DueItem.objects.filter(aircraft__club_id=self.club.id, due_on__lt=today + timedelta(days=366))
        months = Counter(f"{max(day, today):%Y-%m}" for day in rows.values_list("due_on", flat=True) if day)
        return Response([{"month": month, "tasks": months[month]} for month in sorted(months)])
