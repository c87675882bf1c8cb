"""What is, and was, in an aircraft."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import life
from fleet.api.airworthiness import AtQuery
from fleet.api.base import ClubView
from fleet.api.component_looks import shown_position
from fleet.api.component_shapes import PositionedShape
from fleet.api.lives import LifeShape, shown_lives
from fleet.models import Aircraft, Installation, Position
from fleet.selectors import aircraft_of


class InstalledShape(LifeShape):
    """A component in an aircraft, with what is inside it."""

    component = serializers.UUIDField()
    designation = serializers.CharField()
    part_number = serializers.CharField()
    serial_number = serializers.CharField()
    installation = serializers.UUIDField()
    position = PositionedShape()
    installed_at = serializers.DateTimeField()
    missing = PositionedShape(many=True, help_text="Its required positions that are empty.")
    components = serializers.SerializerMethodField(help_text="What is inside it, in the same form.")

    @extend_schema_field({"type": "array", "items": {"$ref": "#/components/schemas/InstalledShape"}})
    def get_components(self, node: Any) -> Any:
        """For the document only."""
        return node["components"]


class AircraftComponentsShape(serializers.Serializer[Any]):
    """What was in an aircraft at an instant, as it is known now."""

    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    at = serializers.DateTimeField(allow_null=True, help_text="The instant asked for; null: now.")
    missing = PositionedShape(many=True, help_text="Required positions of the type that are empty.")
    components = InstalledShape(many=True)


class Tree:
    """What is in an aircraft, nested; five or six queries, however much it is."""

    def __init__(self, aircraft: Aircraft, at: datetime | None) -> None:
        rows = life.installed_in([aircraft.id], at)[aircraft.id]
        self.lives = shown_lives([row.component for row in rows], at)
        self.inside: dict[UUID, list[Installation]] = defaultdict(list)
        for row in rows:
            self.inside[row.aircraft_id or row.parent_id].append(row)  # type: ignore[index]  # one of the two is set
        self.required = self._required(aircraft, rows, at)
        self.aircraft = aircraft

    @staticmethod
    def _required(
        aircraft: Aircraft, rows: Sequence[Installation], at: datetime | None
    ) -> Mapping[UUID | None, list[Position]]:
        """Required positions by type and kind; in the past, those that there were."""
        kinds = {row.component.kind_id for row in rows}
        wanted = Q(aircraft_type_id=aircraft.aircraft_type_id) | Q(parent_kind_id__in=kinds)
        positions = Position.objects.filter(wanted, required=True).order_by("code")
        found: dict[UUID | None, list[Position]] = defaultdict(list)
        for one in positions if at is None else positions.filter(created_at__lte=at):
            found[one.aircraft_type_id or one.parent_kind_id].append(one)
        return found

    def missing(self, holder: UUID, model: UUID) -> list[dict[str, Any]]:
        """Required positions that are empty in one thing of a type or kind."""
        taken = {row.position_id for row in self.inside[holder]}
        return [shown_position(one) for one in self.required[model] if one.id not in taken]

    def within(self, holder: UUID) -> list[dict[str, Any]]:
        """What is in the aircraft or a component, by position."""
        return [self._node(row) for row in sorted(self.inside[holder], key=lambda row: row.position.code)]

    def _node(self, row: Installation) -> dict[str, Any]:
        component = row.component
        return {
            "component": component.id,
            "designation": component.kind.designation,
            "part_number": component.kind.part_number,
            "serial_number": component.serial_number,
            "installation": row.id,
            "position": shown_position(row.position),
            "installed_at": row.installed_at,
            **self.lives[component.id],
            "missing": self.missing(component.id, component.kind_id),
            "components": self.within(component.id),
        }


class AircraftComponentsView(ClubView):
    """What is in an aircraft."""

    query = AtQuery
    answers = {"GET": AircraftComponentsShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """What is in the aircraft now, or was at an instant, with what each had run by then and what was missing."""
        aircraft = self.get_or_404(aircraft_of(self.club.id), pk)
        at = self.validated_query().get("at")
        tree = Tree(aircraft, at)
        body = {
            "aircraft": aircraft.id,
            "registration": aircraft.registration,
            "at": at,
            "missing": tree.missing(aircraft.id, aircraft.aircraft_type_id),
            "components": tree.within(aircraft.id),
        }
        return Response(body)
