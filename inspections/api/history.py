"""The time line of one aircraft: everything that was recorded about it, by whichever app."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.events import RecordedShape, recorded
from fleet.api.listing import ListView
from fleet.models import Event
from fleet.selectors import aircraft_of, events_of
from fleet.sentences import sentence
from inspections.sentences import SENTENCES


class HistoryShape(RecordedShape):
    """Something that was recorded about an aircraft."""

    summary = serializers.CharField(help_text="A plain sentence.")


def shown(event: Event) -> dict[str, Any]:
    """An event of the time line, with its sentence."""
    told = recorded(event)
    return {**told, "summary": sentence(event.kind, told["data"], SENTENCES)}


class HistoryFilter(django_filters.FilterSet):
    """By kind, subject and time."""

    kind = django_filters.CharFilter()
    subject = django_filters.UUIDFilter(field_name="subject_id")
    recorded_after = django_filters.IsoDateTimeFilter(field_name="recorded_at", lookup_expr="gte")
    recorded_before = django_filters.IsoDateTimeFilter(field_name="recorded_at", lookup_expr="lt")

    class Meta:
        model = Event
        fields: tuple[str, ...] = ()


class HistoryView(ListView):
    """The time line of an aircraft."""

    answers = {"GET": HistoryShape}
    filterset_class = HistoryFilter
    ordering = "sequence"
    ordering_fields = ("sequence",)

    def get(self, request: Request, pk: UUID) -> Response:
        """Everything recorded about the aircraft in the order of its chain, oldest first."""
        found = self.get_or_404(aircraft_of(self.club.id), pk)
        return self.page(events_of(self.club.id).filter(aircraft=found), shown)
