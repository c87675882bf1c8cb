"""What scheduled jobs flagged to a member."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.models import Notification
from fleet.selectors import notifications_for
from fleet.services import notices


class NotificationShape(serializers.Serializer[Any]):
    """A notification."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    aircraft = serializers.UUIDField(allow_null=True)
    registration = serializers.CharField(allow_null=True)
    message = serializers.CharField()
    created_at = serializers.DateTimeField()
    read_at = serializers.DateTimeField(allow_null=True)
    emailed_at = serializers.DateTimeField(allow_null=True)


def shown(notification: Notification) -> dict[str, Any]:
    """A notification in JSON types."""
    return {
        "id": notification.id,
        "kind": notification.kind,
        "aircraft": notification.aircraft_id,
        "registration": notification.aircraft.registration if notification.aircraft else None,
        "message": notification.message,
        "created_at": notification.created_at,
        "read_at": notification.read_at,
        "emailed_at": notification.emailed_at,
    }


class NotificationFilter(django_filters.FilterSet):
    """By kind, aircraft and whether unread."""

    unread = django_filters.BooleanFilter(field_name="read_at", lookup_expr="isnull")
    kind = django_filters.CharFilter()
    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")

    class Meta:
        model = Notification
        fields: tuple[str, ...] = ()


class NotificationsView(ListView):
    """The caller's own notifications."""

    answers = {"GET": NotificationShape}
    filterset_class = NotificationFilter
    ordering = "-created_at"

    def get(self, request: Request) -> Response:
        """Your own notifications, newest first."""
        return self.page(notifications_for(self.member), shown)


class NotificationView(ClubView):
    """One of the caller's own notifications."""

    answers = {"GET": NotificationShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The notification."""
        return Response(shown(self.get_or_404(notifications_for(self.member), pk)))


class ReadView(ClubView):
    """Reading a notification."""

    personal = True
    answers = {"POST": NotificationShape}
    success_of_post = 200

    def post(self, request: Request, pk: UUID) -> Response:
        """Mark one of your notifications as read. Doing it twice changes nothing."""
        self.validated(Nothing)
        return Response(shown(notices.mark_read(notification_id=pk, by=self.member, at=self.now)))


class Nothing(serializers.Serializer[Any]):
    """An empty body."""
