"""Positions: where on a type, or on a kind of component, components are installed."""

from typing import Any
from uuid import UUID

import django_filters
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Flag, Id, ItemCode, Text
from fleet.api.listing import ListView
from fleet.models import Position
from fleet.permissions import KEEPERS
from fleet.selectors import aircraft_types_of, component_kinds_of, positions_of
from fleet.services import positions, stores

MOST_KINDS = 50


class ChangePositionBody(serializers.Serializer[Any]):
    """What of a position may change. What is installed there stays."""

    title = Text(max_length=120)
    required = Flag(help_text="Empty, it grounds every aircraft that has it.")  # type: ignore[assignment]  # a field, taken off by the framework
    kinds = serializers.ListField(
        child=Id(), min_length=1, max_length=MOST_KINDS, help_text="Component kinds that may be installed here."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A tow release that no aircraft of the type may be without",
            request_only=True,
            value={
                "aircraft_type": "6f1c0f0e-9f0c-4c1e-8d5e-2f3a5b7c9d11",
                "code": "tow-release",
                "title": "Tow release",
                "required": True,
                "kinds": ["0d0a8c5e-5b0b-4d38-9e6b-0b8a2f6e7a01"],
            },
        )
    ]
)
class PositionBody(ChangePositionBody):
    """A new position: of an aircraft type, or of a component kind."""

    id = ClientId()
    code = ItemCode()
    aircraft_type = Id(required=False, allow_null=True)
    parent_kind = Id(required=False, allow_null=True, help_text="Every component of this kind has the position.")
    required = Flag(default=False, help_text="Empty, it grounds every aircraft that has it.")


class PositionShape(serializers.Serializer[Any]):
    """A position."""

    id = serializers.UUIDField()
    aircraft_type = serializers.UUIDField(allow_null=True)
    parent_kind = serializers.UUIDField(allow_null=True)
    code = serializers.CharField()
    title = serializers.CharField()
    required = serializers.BooleanField()  # type: ignore[assignment]  # a field, taken off by the framework
    kinds = serializers.ListField(child=serializers.UUIDField())
    created_at = serializers.DateTimeField()


def shown(position: Position) -> dict[str, Any]:
    """A position in JSON types."""
    return {
        "id": position.id,
        "aircraft_type": position.aircraft_type_id,
        "parent_kind": position.parent_kind_id,
        "code": position.code,
        "title": position.title,
        "required": position.required,
        "kinds": sorted(kind.id for kind in position.kinds.all()),
        "created_at": position.created_at,
    }


class PositionFilter(django_filters.FilterSet):
    """By what has the position, and whether it may be empty."""

    aircraft_type = django_filters.UUIDFilter(field_name="aircraft_type_id")
    parent_kind = django_filters.UUIDFilter(field_name="parent_kind_id")
    required = django_filters.BooleanFilter()

    class Meta:
        model = Position
        fields: tuple[str, ...] = ()


class PositionsView(ListView):
    """Positions of the club's types and component kinds."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": PositionBody}
    answers = {"GET": PositionShape, "POST": PositionShape}
    filterset_class = PositionFilter
    ordering = "code"
    ordering_fields = ("created_at",)

    def get(self, request: Request) -> Response:
        """Positions by code."""
        return self.page(positions_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Add a position. A required one grounds every aircraft where it is empty, at once."""
        sent = self.validated()
        of_type, of_kind = sent.pop("aircraft_type", None), sent.pop("parent_kind", None)
        position = positions.add_position(
            by=self.member,
            at=self.now,
            position_id=sent.pop("id", None),
            kinds=positions.kinds_of(self.club.id, sent.pop("kinds")),
            aircraft_type=of_type
            and self.get_or_404(aircraft_types_of(self.club.id), of_type, pointer="/aircraft_type"),
            parent_kind=of_kind and self.get_or_404(component_kinds_of(self.club.id), of_kind, pointer="/parent_kind"),
            **sent,
        )
        return self.created(shown(position), f"/api/v1/positions/{position.id}")


class PositionView(ClubView):
    """One position."""

    permits = {"PATCH": KEEPERS}
    bodies = {"PATCH": ChangePositionBody}
    answers = {"GET": PositionShape, "PATCH": PositionShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The position."""
        return Response(shown(self.get_or_404(positions_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change title, what fits, or whether it may be empty, which a technical officer or an inspector decides."""
        changes = self.validated()
        stores.lock(self.member)
        found = self.get_or_404(positions_of(self.club.id), pk)
        self.require_match(shown(found))
        kinds = positions.kinds_of(self.club.id, changes.pop("kinds")) if "kinds" in changes else None
        position = positions.change_position(found, by=self.member, at=self.now, changes=changes, kinds=kinds)
        return changed(shown(position))
