"""Aircraft types: the models of aircraft that a club flies."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Text, Whole
from fleet.api.listing import ListView
from fleet.models import AircraftCategory, AircraftType
from fleet.permissions import KEEPERS
from fleet.selectors import aircraft_types_of
from fleet.services import register


class ChangeTypeBody(serializers.Serializer[Any]):
    """What of a type may change. Its category stays: authorisations are scoped by it."""

    designation = Text(max_length=80)
    manufacturer = Text(max_length=80)
    seats = Whole(min_value=1, max_value=20)


class TypeBody(ChangeTypeBody):
    """A new aircraft type."""

    id = ClientId()
    category = serializers.ChoiceField(AircraftCategory.choices)
    seats = Whole(min_value=1, max_value=20, default=1)


class TypeShape(serializers.Serializer[Any]):
    """An aircraft type."""

    id = serializers.UUIDField()
    designation = serializers.CharField()
    manufacturer = serializers.CharField()
    category = serializers.ChoiceField(AircraftCategory.choices)
    seats = serializers.IntegerField()
    created_at = serializers.DateTimeField()


FIELDS = tuple(TypeShape().fields)


def shown(aircraft_type: AircraftType) -> dict[str, Any]:
    """A type in JSON types."""
    return {name: getattr(aircraft_type, name) for name in FIELDS}


class TypeFilter(django_filters.FilterSet):
    """By category and designation."""

    category = django_filters.MultipleChoiceFilter(choices=AircraftCategory.choices)
    designation = django_filters.CharFilter()

    class Meta:
        model = AircraftType
        fields: tuple[str, ...] = ()


class TypesView(ListView):
    """Aircraft types of the club."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": TypeBody}
    answers = {"GET": TypeShape, "POST": TypeShape}
    filterset_class = TypeFilter
    ordering = "designation"
    ordering_fields = ("created_at",)

    def get(self, request: Request) -> Response:
        """Aircraft types by designation."""
        return self.page(aircraft_types_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Add an aircraft type. Its catalogue of items and its sheets follow below it."""
        sent = self.validated()
        added = register.add_type(by=self.member, at=self.now, type_id=sent.pop("id", None), **sent)
        return self.created(shown(added), f"/api/v1/aircraft-types/{added.id}")


class TypeView(ClubView):
    """One aircraft type."""

    permits = {"PATCH": KEEPERS}
    bodies = {"PATCH": ChangeTypeBody}
    answers = {"GET": TypeShape, "PATCH": TypeShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The aircraft type."""
        return Response(shown(self.get_or_404(aircraft_types_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change designation, manufacturer or seats."""
        changes = self.validated()
        found = self.get_or_404(aircraft_types_of(self.club.id).select_for_update(no_key=True), pk)
        self.require_match(shown(found))
        return changed(shown(register.change_type(found, by=self.member, at=self.now, changes=changes)))
