"""Component kinds: part numbers."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Text
from fleet.api.listing import ListView
from fleet.models import ComponentKind
from fleet.permissions import KEEPERS
from fleet.selectors import component_kinds_of
from fleet.services import positions


class ComponentKindBody(serializers.Serializer[Any]):
    """A new part number."""

    id = ClientId()
    designation = Text(max_length=80)
    part_number = Text(max_length=60)
    manufacturer = Text(max_length=80, allow_blank=True, default="")


class ComponentKindShape(serializers.Serializer[Any]):
    """A part number: everything with it is interchangeable."""

    id = serializers.UUIDField()
    designation = serializers.CharField()
    part_number = serializers.CharField()
    manufacturer = serializers.CharField(allow_blank=True)
    created_at = serializers.DateTimeField()


FIELDS = tuple(ComponentKindShape().fields)


def shown(kind: ComponentKind) -> dict[str, Any]:
    """A kind in JSON types."""
    return {name: getattr(kind, name) for name in FIELDS}


class ComponentKindFilter(django_filters.FilterSet):
    """By part number and designation."""

    part_number = django_filters.CharFilter()
    designation = django_filters.CharFilter()

    class Meta:
        model = ComponentKind
        fields: tuple[str, ...] = ()


class ComponentKindsView(ListView):
    """Component kinds of the club."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": ComponentKindBody}
    answers = {"GET": ComponentKindShape, "POST": ComponentKindShape}
    filterset_class = ComponentKindFilter
    ordering = "designation"
    ordering_fields = ("part_number", "created_at")

    def get(self, request: Request) -> Response:
        """Component kinds by designation."""
        return self.page(component_kinds_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Add a component kind."""
        sent = self.validated()
        kind = positions.add_kind(by=self.member, at=self.now, kind_id=sent.pop("id", None), **sent)
        return self.created(shown(kind), f"/api/v1/component-kinds/{kind.id}")


class ComponentKindView(ClubView):
    """One component kind."""

    answers = {"GET": ComponentKindShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The component kind."""
        return Response(shown(self.get_or_404(component_kinds_of(self.club.id), pk)))
