"""Aircraft: the register, with what is shown for each now."""

from collections.abc import Mapping
from typing import Any, cast
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import assessment
from fleet.api.answers import changed, with_airworthiness
from fleet.api.authentication import ApiRequest
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Id, Text
from fleet.api.listing import ListView
from fleet.api.pagination import KeysetPages
from fleet.api.verdicts import AirworthinessShape
from fleet.models import Aircraft, StatusCode
from fleet.permissions import KEEPERS
from fleet.selectors import aircraft_of, aircraft_types_of
from fleet.services import register, showing


class ChangeAircraftBody(serializers.Serializer[Any]):
    """What of an aircraft may change. Its type stays: its record hangs on the items of the type."""

    registration = Text(max_length=12, help_text="Mark as in Annex 7 to the Chicago Convention: ZZ-K01.")
    serial_number = Text(max_length=40)
    base = Text(max_length=80, allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "An aircraft",
            request_only=True,
            value={
                "registration": "ZZ-K01",
                "serial_number": "104",
                "aircraft_type": "6f1c0f0e-9f0c-4c1e-8d5e-2f3a5b7c9d11",
                "base": "East field",
            },
        )
    ]
)
class AircraftBody(ChangeAircraftBody):
    """A new aircraft."""

    id = ClientId()
    aircraft_type = Id()
    base = Text(max_length=80, allow_blank=True, default="")


class AircraftShape(serializers.Serializer[Any]):
    """An aircraft and what is shown for it now."""

    id = serializers.UUIDField()
    registration = serializers.CharField()
    serial_number = serializers.CharField()
    aircraft_type = serializers.UUIDField()
    base = serializers.CharField(allow_blank=True)
    status = serializers.ChoiceField(StatusCode.choices)
    ready_today = serializers.BooleanField()
    created_at = serializers.DateTimeField()


class AircraftChangedShape(AircraftShape):
    """An aircraft with the verdict as committed."""

    airworthiness = AirworthinessShape()


def shown(aircraft: Aircraft, look: Mapping[str, Any]) -> dict[str, Any]:
    """An aircraft in JSON types, with what a look at its verdict shows."""
    return {
        "id": aircraft.id,
        "registration": aircraft.registration,
        "serial_number": aircraft.serial_number,
        "aircraft_type": aircraft.aircraft_type_id,
        "base": aircraft.base,
        "status": look["status"],
        "ready_today": look["ready_today"],
        "created_at": aircraft.created_at,
    }


class AircraftFilter(django_filters.FilterSet):
    """By registration, status as shown now, and type."""

    registration = django_filters.CharFilter(method="with_mark", label="registration")
    status = django_filters.ChoiceFilter(choices=StatusCode.choices, method="showing", label="status")
    aircraft_type = django_filters.UUIDFilter(field_name="aircraft_type_id")

    class Meta:
        model = Aircraft
        fields: tuple[str, ...] = ()

    def with_mark(self, rows: QuerySet[Aircraft], _name: str, mark: str) -> QuerySet[Aircraft]:
        """Marks are written in capitals."""
        return rows.filter(registration=mark.upper())

    def showing(self, rows: QuerySet[Aircraft], _name: str, status: str) -> QuerySet[Aircraft]:
        """The status that a look shows, which is not the stored one once that has run out."""
        return showing.with_status(rows, status, cast(ApiRequest, self.request).now)


class FleetView(ListView):
    """Aircraft of the club."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": AircraftBody}
    answers = {"GET": AircraftShape, "POST": AircraftChangedShape}
    filterset_class = AircraftFilter
    ordering = "registration"
    ordering_fields = ("created_at",)

    def get(self, request: Request) -> Response:
        """Aircraft by registration."""
        pages = KeysetPages()
        named = (self.ordering, *self.ordering_fields)
        found = pages.paginate(self.filtered(aircraft_of(self.club.id)), self.request, self.ordering, named)
        looks = showing.shown_now([one.airworthiness for one in found], self.now)
        return pages.answer([shown(one, looks[one.id]) for one in found])

    def post(self, request: Request) -> Response:
        """Register an aircraft. It shows as grounded until its required documents are there."""
        sent = self.validated()
        of_type = self.get_or_404(aircraft_types_of(self.club.id), sent.pop("aircraft_type"), pointer="/aircraft_type")
        added, verdict = register.add_aircraft(
            aircraft_type=of_type, by=self.member, at=self.now, aircraft_id=sent.pop("id", None), **sent
        )
        body = shown(added, assessment.shown_values(verdict))
        answer = with_airworthiness(body, verdict)
        return self.created(answer, f"/api/v1/aircraft/{added.id}", representation=body)


class OneAircraftView(ClubView):
    """One aircraft."""

    permits = {"PATCH": KEEPERS}
    bodies = {"PATCH": ChangeAircraftBody}
    answers = {"GET": AircraftShape, "PATCH": AircraftChangedShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The aircraft, and what is shown for it now."""
        found = self.get_or_404(aircraft_of(self.club.id), pk)
        return Response(shown(found, assessment.shown_at(found.airworthiness, self.now)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change registration, serial number or base."""
        changes = self.validated()
        found = assessment.lock(pk, club_id=self.club.id, at=self.now)
        self.require_match(shown(found, assessment.shown_at(found.airworthiness, self.now)))
        found, verdict = register.change_aircraft(found, by=self.member, at=self.now, changes=changes)
        return changed(shown(found, assessment.shown_values(verdict)), verdict)
