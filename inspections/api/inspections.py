"""Recording and reading inspections."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

import django_filters
from django.contrib.postgres.aggregates import ArrayAgg
from django.db.models import Q, QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.api.verdicts import shown_member, shown_verdict
from fleet.permissions import WALKERS
from inspections import selectors
from inspections.api.shapes import (
    InspectionBody,
    InspectionShape,
    OneInspectionShape,
    RecordedShape,
)
from inspections.models import Inspection, InspectionKind, InspectionResult
from inspections.services import records
from inspections.services.lines import Sent


class InspectionFilter(django_filters.FilterSet):
    """By aircraft, kind, completeness and time."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    kind = django_filters.MultipleChoiceFilter(choices=InspectionKind.choices)
    complete = django_filters.BooleanFilter()
    completed_after = django_filters.IsoDateTimeFilter(field_name="completed_at", lookup_expr="gte")
    completed_before = django_filters.IsoDateTimeFilter(field_name="completed_at", lookup_expr="lt")

    class Meta:
        model = Inspection
        fields: tuple[str, ...] = ()


def rows_of(club_id: UUID) -> QuerySet[Any, Any]:
    """Inspections with what their representation shows, in one query."""
    return (
        selectors.inspections_of(club_id)
        .select_related("aircraft", "sheet", "inspected_by__person")
        .annotate(
            defect_ids=ArrayAgg(
                "results__defect_id",
                filter=Q(results__defect__isnull=False),
                order_by="results__line__position",
                default=[],
            )
        )
    )


def shown(inspection: Any) -> dict[str, Any]:
    """An inspection read by ``rows_of``; no further query."""
    return {
        "id": inspection.id,
        "aircraft": inspection.aircraft_id,
        "registration": inspection.aircraft.registration,
        "kind": inspection.kind,
        "sheet": inspection.sheet_id,
        "sheet_version": inspection.sheet.version,
        "inspected_by": shown_member(inspection.inspected_by),
        "second_person": inspection.second_person_id,
        "started_at": inspection.started_at,
        "completed_at": inspection.completed_at,
        "recorded_at": inspection.recorded_at,
        "occurrence": inspection.occurrence_id,
        "complete": inspection.complete,
        "missing": inspection.missing,
        "defects": inspection.defect_ids,
    }


def _result(result: InspectionResult) -> dict[str, Any]:
    return {
        "item": result.line.code,
        "title": result.line.title,
        "outcome": result.outcome,
        "measurement": {"value": result.value, "unit": result.line.unit} if result.value is not None else None,
        "remark": result.remark,
        "second_person": result.second_person_id,
        "defect": result.defect_id,
    }


def shown_whole(inspection: Any) -> dict[str, Any]:
    """With its results: one more query."""
    results = InspectionResult.objects.filter(inspection=inspection).select_related("line").order_by("line__position")
    return {**shown(inspection), "results": [_result(result) for result in results]}


def _sent(result: Mapping[str, Any]) -> Sent:
    measured, found = result.get("measurement") or {}, result.get("defect") or {}
    return Sent(
        item=result["item"],
        outcome=result["outcome"],
        value=measured.get("value"),
        unit=measured.get("unit", ""),
        remark=result.get("remark", ""),
        second_person=result.get("second_person"),
        description=found.get("description", ""),
        damage_kind=found.get("damage_kind", ""),
        size_mm=found.get("size_mm"),
        position=found.get("position", ""),
    )


def _all_sent(results: Sequence[Mapping[str, Any]]) -> list[Sent]:
    return [_sent(result) for result in results]


class InspectionsView(ListView):
    """Inspections of the club's aircraft."""

    permits = {"POST": WALKERS}
    bodies = {"POST": InspectionBody}
    answers = {"GET": InspectionShape, "POST": RecordedShape}
    filterset_class = InspectionFilter
    ordering = "-recorded_at"

    def get(self, request: Request) -> Response:
        """Inspections, newest first."""
        return self.page(rows_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Record an inspection. What it finds becomes defects in the same transaction.

        An incomplete one is kept, says what is missing and clears nothing.
        """
        sent = self.validated()
        recorded = records.record(
            aircraft_id=sent["aircraft"],
            by=self.member,
            at=self.now,
            kind=sent["kind"],
            started_at=sent["started_at"],
            completed_at=sent["completed_at"],
            results=_all_sent(sent["results"]),
            sheet_id=sent.get("sheet"),
            second_person=sent.get("second_person"),
            occurrence_id=sent.get("occurrence"),
            inspection_id=sent.get("id"),
        )
        body = shown_whole(rows_of(self.club.id).get(id=recorded.inspection.id))
        answer = {**body, "airworthiness": shown_verdict(recorded.verdict)}
        return self.created(answer, f"/api/v1/inspections/{recorded.inspection.id}", representation=body)


class InspectionView(ClubView):
    """One inspection."""

    answers = {"GET": OneInspectionShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The inspection with its results in the order of the route."""
        return Response(shown_whole(self.get_or_404(rows_of(self.club.id), pk)))
