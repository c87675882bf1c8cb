"""The append-only record of the club, with its hashes."""

from typing import Any
from uuid import UUID

import django_filters
import orjson
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import events
from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.api.verdicts import MemberShape, SubjectShape
from fleet.models import Event
from fleet.selectors import events_of


class RecordedShape(serializers.Serializer[Any]):
    """What was recorded, when, by whom, about what."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    by = MemberShape(allow_null=True, help_text="null: a scheduled job.")
    subject = SubjectShape()
    data = serializers.DictField()  # type: ignore[assignment]


class EventShape(RecordedShape):
    """One line of the record. ``hash`` is the SHA-256 of ``canonical``, which holds ``previous_hash``."""

    chain = serializers.UUIDField()
    aircraft = serializers.UUIDField(allow_null=True, help_text="null: the chain of the club.")
    sequence = serializers.IntegerField(help_text="1, 2, 3 ... within its chain.")
    previous_hash = serializers.CharField(allow_blank=True)
    hash = serializers.CharField()
    canonical = serializers.CharField(help_text="The very text that was hashed, in UTF-8.")


class VerificationShape(serializers.Serializer[Any]):
    """Result of walking every chain of the club."""

    valid = serializers.BooleanField()
    checked = serializers.IntegerField(help_text="Events.")
    head = serializers.CharField(
        help_text="SHA-256 over the heads of all chains: keep it to notice a record cut later."
    )
    faults = serializers.ListField(child=serializers.CharField())


def recorded(event: Event) -> dict[str, Any]:
    """What an event says, as it was hashed."""
    told = orjson.loads(event.canonical)
    return {
        "id": event.id,
        "kind": event.kind,
        "recorded_at": event.recorded_at,
        "by": told["by"] and {"id": told["by"], "name": told["by_name"]},
        "subject": told["subject"],
        "data": told["data"],
    }


def shown(event: Event) -> dict[str, Any]:
    """An event with its place in its chain."""
    chained = ("sequence", "previous_hash", "hash", "canonical")
    return {
        **recorded(event),
        "chain": event.chain_id,
        "aircraft": event.aircraft_id,
        **{name: getattr(event, name) for name in chained},
    }


class EventFilter(django_filters.FilterSet):
    """By aircraft, kind, subject and time."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    kind = django_filters.CharFilter()
    subject = django_filters.UUIDFilter(field_name="subject_id")
    subject_type = django_filters.CharFilter()
    recorded_after = django_filters.IsoDateTimeFilter(field_name="recorded_at", lookup_expr="gte")
    recorded_before = django_filters.IsoDateTimeFilter(field_name="recorded_at", lookup_expr="lt")

    class Meta:
        model = Event
        fields: tuple[str, ...] = ()


class EventsView(ListView):
    """The record."""

    answers = {"GET": EventShape}
    filterset_class = EventFilter
    ordering = "recorded_at"
    ordering_fields = ("recorded_at",)

    def get(self, request: Request) -> Response:
        """Events, oldest first. What was once recorded is never changed or deleted."""
        return self.page(events_of(self.club.id), shown)


class EventView(ClubView):
    """One event."""

    answers = {"GET": EventShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The event."""
        return Response(shown(self.get_or_404(events_of(self.club.id), pk)))


class VerificationView(ClubView):
    """The check of the whole record."""

    answers = {"GET": VerificationShape}

    def get(self, request: Request) -> Response:
        """Walks every chain of the club and says whether any event was changed, deleted, moved or cut off."""
        found = events.verify(self.club)
        return Response({name: getattr(found, name) for name in ("valid", "checked", "head", "faults")})
