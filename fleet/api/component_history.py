"""Where a component was, with meter readings."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import life
from fleet.api.base import ClubView
from fleet.api.component_looks import shown_installation, shown_overhaul
from fleet.api.component_shapes import InstallationShape, OverhaulShape
from fleet.api.lives import KnownAmountsShape, LifeShape, shown_amounts, shown_lives
from fleet.models import Aircraft, Overhaul
from fleet.selectors import components_of, installations_of

COUNTED = "Counted from the usage as it is recorded now."


class SpanShape(serializers.Serializer[Any]):
    """Time in one aircraft, also inside another component; the meter is that of the aircraft."""

    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    meter_in = KnownAmountsShape(help_text=COUNTED)
    meter_out = KnownAmountsShape(help_text=COUNTED)
    flown = KnownAmountsShape(help_text=COUNTED)

    def get_fields(self) -> dict[str, Any]:
        """``from`` is a word of the language, so it is named here."""
        ends = {"from": serializers.DateTimeField(), "to": serializers.DateTimeField(allow_null=True)}
        return {**ends, **super().get_fields()}


class PlacedShape(InstallationShape):
    """An installation, with the time in aircraft that came of it."""

    spans = SpanShape(many=True)


class ComponentHistoryShape(LifeShape):
    """Where a component was, oldest first."""

    component = serializers.UUIDField()
    serial_number = serializers.CharField()
    brought_forward = KnownAmountsShape()
    installations = PlacedShape(many=True)
    overhauls = OverhaulShape(many=True)


def _shown_span(span: life.Span, one: life.Metered, marks: Mapping[UUID, str]) -> dict[str, Any]:
    known = one.covered
    return {
        "from": span.since,
        "to": span.until,
        "aircraft": span.aircraft_id,
        "registration": marks[span.aircraft_id],
        "meter_in": shown_amounts(one.before if known else {}),
        "meter_out": shown_amounts(life.added(one.before, one.flown) if known else {}),
        "flown": shown_amounts(one.flown if known else {}),
    }


def _spans_by_installation(component_id: UUID) -> Mapping[UUID | None, list[dict[str, Any]]]:
    spans = life.spans_of([component_id])[component_id]
    named = Aircraft.objects.filter(id__in={span.aircraft_id for span in spans})
    marks = dict(named.values_list("id", "registration"))
    found: dict[UUID | None, list[dict[str, Any]]] = defaultdict(list)
    for span, one in zip(spans, life.metered(spans), strict=True):
        found[span.installation_id].append(_shown_span(span, one, marks))
    return found


class ComponentHistoryView(ClubView):
    """Where a component was."""

    answers = {"GET": ComponentHistoryShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """Every place with its meter readings, and every overhaul, oldest first."""
        component = self.get_or_404(components_of(self.club.id), pk)
        spans = _spans_by_installation(component.id)
        placed = installations_of([component.id]).order_by("installed_at")
        done = Overhaul.objects.filter(component=component).select_related("recorded_by__person")
        body = {
            "component": component.id,
            "serial_number": component.serial_number,
            "brought_forward": shown_amounts(component.known_amounts()),
            **shown_lives([component])[component.id],
            "installations": [{**shown_installation(one), "spans": spans[one.id]} for one in placed],
            "overhauls": [shown_overhaul(one) for one in done.order_by("counts_from", "recorded_at")],
        }
        return Response(body)
