"""Items: the catalogue of what can be inspected on an aircraft type."""

from typing import Any
from uuid import UUID

import django_filters
from django.core.validators import RegexValidator
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import assessment
from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Flag, ItemCode, Number, Text
from fleet.api.listing import ListView
from fleet.models import INSPECTABLE_FIELDS, Aircraft, Item, Side, Zone
from fleet.permissions import KEEPERS
from fleet.selectors import aircraft_types_of, items_of
from fleet.services import register

UNIT = RegexValidator(r"^[!-~]+\Z", "Write the unit as a UCUM code, for example bar or mm.")
SYSTEM_CODE = RegexValidator(r"^[0-9]{4}\Z", "Send the four digits of the joint aircraft system/component code.")


class ChangeItemBody(serializers.Serializer[Any]):
    """What of an item may change. Its code stays: sheets and records name it."""

    title = Text(max_length=200)
    zone = serializers.ChoiceField(Zone.choices)
    side = serializers.ChoiceField(Side.choices, default=Side.CENTRE, help_text="As seen from the pilot's seat.")
    critical = Flag(help_text="Its failure can directly endanger flight; never deferrable.")
    deferrable = Flag(default=False)
    two_person = Flag(default=False, help_text="The check needs a second person.")
    ballast = Flag(default=False, help_text="The line records how much ballast is on board.")
    quantity = Text(max_length=60, allow_blank=True, default="", help_text="What is measured; blank: nothing.")
    unit = Text(max_length=20, allow_blank=True, default="", validators=[UNIT], help_text="UCUM code.")
    minimum = Number(allow_null=True, default=None)
    maximum = Number(allow_null=True, default=None)
    caution = Text(allow_blank=True, default="")
    handling_note = Text(allow_blank=True, default="")
    system_code = Text(
        max_length=4,
        allow_blank=True,
        default="",
        validators=[SYSTEM_CODE],
        help_text="Joint aircraft system/component code: four digits.",
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A tyre whose pressure is measured",
            request_only=True,
            value={
                "code": "nose-tyre",
                "title": "Nose wheel tyre",
                "zone": "gear",
                "critical": False,
                "deferrable": True,
                "quantity": "pressure",
                "unit": "bar",
                "minimum": 1.7,
                "maximum": 2.1,
                "system_code": "3246",
            },
        )
    ]
)
class ItemBody(ChangeItemBody):
    """A new item."""

    id = ClientId()
    code = ItemCode()


class ItemShape(serializers.Serializer[Any]):
    """An item as it is classified now."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    title = serializers.CharField()
    zone = serializers.ChoiceField(Zone.choices)
    side = serializers.ChoiceField(Side.choices)
    critical = serializers.BooleanField()
    deferrable = serializers.BooleanField()
    two_person = serializers.BooleanField()
    ballast = serializers.BooleanField()
    quantity = serializers.CharField(allow_blank=True)
    unit = serializers.CharField(allow_blank=True)
    minimum = Number(allow_null=True)
    maximum = Number(allow_null=True)
    caution = serializers.CharField(allow_blank=True)
    handling_note = serializers.CharField(allow_blank=True)
    system_code = serializers.CharField(allow_blank=True)


def shown(item: Item) -> dict[str, Any]:
    """An item in JSON types."""
    return {"id": item.id, **{name: getattr(item, name) for name in INSPECTABLE_FIELDS}}


class ItemFilter(django_filters.FilterSet):
    """By code, zone, side, and whether critical or for two people."""

    code = django_filters.CharFilter()
    zone = django_filters.MultipleChoiceFilter(choices=Zone.choices)
    side = django_filters.MultipleChoiceFilter(choices=Side.choices)
    critical = django_filters.BooleanFilter()
    two_person = django_filters.BooleanFilter()

    class Meta:
        model = Item
        fields: tuple[str, ...] = ()


class CatalogueView(ListView):
    """The catalogue of one aircraft type."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": ItemBody}
    answers = {"GET": ItemShape, "POST": ItemShape}
    filterset_class = ItemFilter
    ordering = "code"

    def get(self, request: Request, type_id: UUID) -> Response:
        """Items by code."""
        self.get_or_404(aircraft_types_of(self.club.id), type_id)
        return self.page(items_of(self.club.id, type_id), shown)

    def post(self, request: Request, type_id: UUID) -> Response:
        """Add an item. It enters a route with the next version of a sheet."""
        sent = self.validated()
        of_type = self.get_or_404(aircraft_types_of(self.club.id), type_id)
        added = register.add_item(
            aircraft_type=of_type, by=self.member, at=self.now, item_id=sent.pop("id", None), **sent
        )
        return self.created(shown(added), f"/api/v1/aircraft-types/{type_id}/items/{added.id}")


class ItemView(ClubView):
    """One item of a catalogue."""

    permits = {"PATCH": KEEPERS}
    bodies = {"PATCH": ChangeItemBody}
    answers = {"GET": ItemShape, "PATCH": ItemShape}

    def get(self, request: Request, type_id: UUID, pk: UUID) -> Response:
        """The item."""
        return Response(shown(self.get_or_404(items_of(self.club.id, type_id), pk)))

    def patch(self, request: Request, type_id: UUID, pk: UUID) -> Response:
        """Change an item; every aircraft of the type is judged anew. Published sheets keep what they said."""
        changes = self.validated()
        found = self.get_or_404(self._locked(type_id), pk)
        self.require_match(shown(found))
        return changed(shown(register.change_item(found, by=self.member, at=self.now, changes=changes)))

    def _locked(self, type_id: UUID) -> QuerySet[Item]:
        of_type = Aircraft.objects.filter(club=self.club, aircraft_type_id=type_id)
        assessment.lock_many(of_type, at=self.now)  # before the item, as every act on an aircraft does
        return items_of(self.club.id, type_id).select_for_update(of=("self",), no_key=True)
