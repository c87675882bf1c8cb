"""Sheets of an aircraft type: published routes over its items, in versions that never change."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.fields import ClientId, ItemCode, Number, Text
from fleet.api.listing import ListView
from fleet.models import INSPECTABLE_FIELDS, Side, Zone
from fleet.permissions import KEEPERS
from fleet.selectors import aircraft_types_of
from inspections.models import InspectionKind, Sheet, SheetLine
from inspections.selectors import current_sheets, sheets_of
from inspections.services import sheets

OF_ITEM = tuple(name for name in INSPECTABLE_FIELDS if name != "code")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A short daily route",
            request_only=True,
            value={"kind": "daily", "title": "Daily inspection", "lines": ["canopy", "main-pin-left", "main-tyre"]},
        )
    ]
)
class SheetBody(serializers.Serializer[Any]):
    """The next version of a route."""

    id = ClientId()
    kind = serializers.ChoiceField(InspectionKind.choices)
    title = Text(max_length=120)
    lines = serializers.ListField(
        child=ItemCode(), min_length=1, max_length=1000, help_text="Codes of items in the order of the walk."
    )


class LineShape(serializers.Serializer[Any]):
    """A station of the route, with the words and limits of the item as they were when the sheet was published."""

    position = serializers.IntegerField()
    item = serializers.CharField(help_text="Code.")
    title = serializers.CharField()
    zone = serializers.ChoiceField(Zone.choices)
    side = serializers.ChoiceField(Side.choices)
    critical = serializers.BooleanField()
    deferrable = serializers.BooleanField()
    two_person = serializers.BooleanField()
    ballast = serializers.BooleanField()
    required = serializers.BooleanField()  # type: ignore[assignment]
    quantity = serializers.CharField(allow_blank=True)
    unit = serializers.CharField(allow_blank=True)
    minimum = Number(allow_null=True)
    maximum = Number(allow_null=True)
    caution = serializers.CharField(allow_blank=True)
    handling_note = serializers.CharField(allow_blank=True)
    system_code = serializers.CharField(allow_blank=True)


class SheetShape(serializers.Serializer[Any]):
    """A published version of a route."""

    id = serializers.UUIDField()
    aircraft_type = serializers.UUIDField()
    kind = serializers.ChoiceField(InspectionKind.choices)
    version = serializers.IntegerField()
    title = serializers.CharField()
    published_at = serializers.DateTimeField()
    lines = LineShape(many=True)


def _line(line: SheetLine) -> dict[str, Any]:
    of_item = {name: getattr(line, name) for name in OF_ITEM}
    return {"position": line.position, "item": line.code, "required": line.required, **of_item}


def shown(sheet: Sheet) -> dict[str, Any]:
    """A sheet with its lines, in JSON types."""
    named = ("id", "kind", "version", "title", "published_at")
    return {
        **{name: getattr(sheet, name) for name in named},
        "aircraft_type": sheet.aircraft_type_id,
        "lines": [_line(line) for line in sheet.lines.all()],
    }


class SheetFilter(django_filters.FilterSet):
    """By kind, and only the versions in force."""

    kind = django_filters.MultipleChoiceFilter(choices=InspectionKind.choices)
    current = django_filters.BooleanFilter(
        method="in_force", label="current", help_text="true: the latest version of each kind; false: the older ones."
    )

    class Meta:
        model = Sheet
        fields: tuple[str, ...] = ()

    def in_force(self, rows: QuerySet[Sheet], _name: str, wanted: bool) -> QuerySet[Sheet]:
        """The latest version of each kind, or all others."""
        latest = current_sheets(rows)
        return rows.filter(id__in=latest) if wanted else rows.exclude(id__in=latest)


class SheetsView(ListView):
    """Sheets of one aircraft type."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": SheetBody}
    answers = {"GET": SheetShape, "POST": SheetShape}
    filterset_class = SheetFilter
    ordering = "-published_at"

    def get(self, request: Request, type_id: UUID) -> Response:
        """Published versions with their lines, newest first."""
        self.get_or_404(aircraft_types_of(self.club.id), type_id)
        return self.page(sheets_of(self.club.id).filter(aircraft_type=type_id).prefetch_related("lines"), shown)

    def post(self, request: Request, type_id: UUID) -> Response:
        """Publish the next version of a route. Inspections name the version that they used."""
        sent = self.validated()
        published = sheets.publish(
            aircraft_type_id=type_id,
            by=self.member,
            at=self.now,
            kind=sent["kind"],
            title=sent["title"],
            codes=sent["lines"],
            sheet_id=sent.get("id"),
        )
        return self.created(shown(published), f"/api/v1/aircraft-types/{type_id}/sheets/{published.id}")


class SheetView(ClubView):
    """One version of a sheet."""

    answers = {"GET": SheetShape}

    def get(self, request: Request, type_id: UUID, pk: UUID) -> Response:
        """The sheet with its lines in the order of the walk."""
        rows = sheets_of(self.club.id).filter(aircraft_type=type_id).prefetch_related("lines")
        return Response(shown(self.get_or_404(rows, pk)))
