"""Small endpoints on the real base classes, so that HTTP is tested apart from the domain. Mounted by ``pytest.mark.urls``."""

from collections.abc import Callable
from typing import Any, ClassVar
from uuid import UUID

import django_filters
from django.db import OperationalError, connection
from django.urls import URLPattern, URLResolver, include, path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from config import urls
from config.api_v1 import endpoint
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Flag, Id, Instant, ItemCode, PastInstant, Quantity, Text, Whole
from fleet.api.listing import ListView
from fleet.api.parsers import Multipart
from fleet.errors import Conflict
from fleet.models import AircraftCategory, AircraftType, Role

PILOTS = frozenset({Role.PILOT})


class LineBody(serializers.Serializer[Any]):
    item = ItemCode()
    measurement = Quantity(required=False)


class ThingBody(serializers.Serializer[Any]):
    id = ClientId()
    name = Text(max_length=80)
    seats = Whole(min_value=1, max_value=20, default=1)
    seen_at = PastInstant(required=False)
    planned_at = Instant(required=False)
    owner = Id(required=False, allow_null=True)
    tail = Flag(required=False)
    results = LineBody(many=True, required=False)


class ThingShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField()
    seats = serializers.IntegerField()


class ThingFilter(django_filters.FilterSet):
    category = django_filters.ChoiceFilter(choices=AircraftCategory.choices)
    seats = django_filters.MultipleChoiceFilter(choices=[(n, n) for n in range(1, 5)])
    big = django_filters.BooleanFilter(field_name="seats", lookup_expr="gte", label="big")

    class Meta:
        model = AircraftType
        fields: tuple[str, ...] = ()


def shown(thing: AircraftType) -> dict[str, object]:
    return {"id": thing.pk, "name": thing.designation, "seats": thing.seats}


def make(view: ClubView, name: str, **fields: Any) -> AircraftType:
    return AircraftType.objects.create(
        club=view.club,
        designation=name,
        manufacturer="Invented Works",
        category=AircraftCategory.SAILPLANE,
        created_at=view.now,
        **fields,
    )


class ThingsView(ListView):
    permits = {"POST": PILOTS}
    bodies = {"POST": ThingBody}
    answers = {"GET": ThingShape, "POST": ThingShape}
    filterset_class = ThingFilter
    ordering = "designation"
    ordering_fields = ("created_at", "seats")

    def get(self, request: Request) -> Response:
        """Things."""
        return self.page(AircraftType.objects.filter(club=self.club), shown)

    def post(self, request: Request) -> Response:
        """A thing."""
        sent = self.validated()
        chosen = {"id": sent["id"]} if "id" in sent else {}
        thing = make(self, sent["name"], seats=sent["seats"], **chosen)
        return self.created(shown(thing), f"/api/v1/things/{thing.pk}")


class ThingView(ClubView):
    permits = {"PATCH": PILOTS}
    bodies = {"PATCH": ThingBody}
    answers = {"GET": ThingShape, "PATCH": ThingShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """A thing."""
        return Response(shown(self.get_or_404(AircraftType.objects.filter(club=self.club), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change a thing."""
        sent = self.validated()
        thing = self.get_or_404(AircraftType.objects.filter(club=self.club).select_for_update(), pk)
        self.require_match(shown(thing))
        thing.seats = sent.get("seats", thing.seats)
        thing.save()
        return Response(shown(thing))


class ActView(ClubView):
    permits = {"POST": PILOTS}

    def post(self, request: Request, pk: UUID) -> Response:
        """Add a seat."""
        thing = self.get_or_404(AircraftType.objects.filter(club=self.club).select_for_update(), pk)
        self.check_match(shown(thing))
        if thing.seats > 2:
            raise Conflict("full", "It is full.", {"seats": thing.seats})
        thing.seats += 1
        thing.save()
        return Response(shown(thing), status=201)


class OutcomeView(ClubView):
    """Writes, and then ends as ``outcome`` says."""

    permits = {"POST": PILOTS}
    outcome: ClassVar[Callable[[], Response]] = Response

    def post(self, request: Request) -> Response:
        """Write."""
        make(self, "written")
        return type(self).outcome()


class NobodyView(ClubView):
    """No row in ``permits``."""

    def post(self, request: Request) -> Response:
        """Never reached."""
        return Response(status=204)


class AuditorsView(ClubView):
    """Read by auditors only; and somebody wrongly let them write."""

    permits = {"GET": frozenset({Role.AUDITOR}), "POST": frozenset({Role.AUDITOR, Role.INSPECTOR})}

    def get(self, request: Request) -> Response:
        """Read."""
        return Response({})

    def post(self, request: Request) -> Response:
        """Write."""
        return Response({}, status=201)


class UploadView(ClubView):
    permits = {"POST": PILOTS}
    parser_classes = [Multipart]
    max_upload_bytes = 20_000

    def post(self, request: Request) -> Response:
        """Store the size."""
        sent: Any = request.data
        thing = make(self, str(sent["name"]), seats=1)
        return Response({"id": thing.pk, "bytes": sent["file"].size}, status=201)


def sql(statement: str) -> Callable[[], Response]:
    """An outcome: what the database says to this."""

    def run() -> Response:
        with connection.cursor() as cursor:
            cursor.execute(statement)
        return Response({}, status=201)

    return run


def failing(times: int, sqlstate: str) -> Callable[[], Response]:
    """An outcome: the database asks ``times`` times for another attempt."""
    left = [times]

    def run() -> Response:
        if left[0] == 0:
            return Response({}, status=201)
        left[0] -= 1
        cause = Exception(sqlstate)
        cause.sqlstate = sqlstate  # type: ignore[attr-defined]
        raise OperationalError("busy") from cause

    return run


handler400, handler403, handler404, handler500 = urls.handler400, urls.handler403, urls.handler404, urls.handler500
urlpatterns: list[URLPattern | URLResolver] = [
    path(
        "api/v1/",
        include(
            [
                *endpoint("things", ThingsView),
                *endpoint("things/<uuid:pk>", ThingView),
                *endpoint("things/<uuid:pk>/act", ActView),
                *endpoint("outcome", OutcomeView),
                *endpoint("nobody", NobodyView),
                *endpoint("auditors", AuditorsView),
                *endpoint("uploads", UploadView),
            ]
        ),
    ),
    *urls.urlpatterns,
]
