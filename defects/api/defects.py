"""Reporting and reading defects."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework.request import Request
from rest_framework.response import Response

from defects import selectors
from defects.api.representation import shown, shown_to
from defects.api.shapes import ActedShape, DefectShape, OneDefectShape, ReportBody
from defects.lifecycle import OPEN_STATES, State
from defects.models import Defect
from defects.services import reports
from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.api.verdicts import shown_verdict
from fleet.permissions import MEMBERS_WHO_WRITE


class DefectFilter(django_filters.FilterSet):
    """By aircraft, item, state, open or closed, and when it was reported."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    item = django_filters.CharFilter(field_name="item__code")
    state = django_filters.MultipleChoiceFilter(choices=[(state.value, state.value) for state in State])
    open = django_filters.BooleanFilter(method="only_open", label="open")
    reported_after = django_filters.IsoDateTimeFilter(field_name="reported_at", lookup_expr="gte")
    reported_before = django_filters.IsoDateTimeFilter(field_name="reported_at", lookup_expr="lt")

    class Meta:
        model = Defect
        fields: tuple[str, ...] = ()

    def only_open(self, rows: Any, _name: str, wanted: bool) -> Any:
        """Every state before release or no defect."""
        return rows.filter(state__in=OPEN_STATES) if wanted else rows.exclude(state__in=OPEN_STATES)


class DefectsView(ListView):
    """Defects of the club's aircraft."""

    permits = {"POST": MEMBERS_WHO_WRITE}
    bodies = {"POST": ReportBody}
    answers = {"GET": DefectShape, "POST": ActedShape}
    filterset_class = DefectFilter
    ordering = "-reported_at"

    def get(self, request: Request) -> Response:
        """Defects, newest first."""
        return self.page(selectors.defects_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Report a defect. The aircraft is judged in the same transaction."""
        sent = self.validated()
        acted = reports.report(
            aircraft_id=sent["aircraft"],
            by=self.member,
            at=self.now,
            description=sent["description"],
            found_at=sent["found_at"],
            found_during=sent["found_during"],
            item_code=sent.get("item"),
            damage_kind=sent.get("damage_kind", ""),
            size_mm=sent.get("size_mm"),
            position=sent.get("position", ""),
            occurrence=sent["occurrence"],
            follows=sent.get("follows"),
            defect_id=sent.get("id"),
        )
        body = shown_to(acted.defect, self.member, self.now)
        answer = {**body, "airworthiness": shown_verdict(acted.verdict)}
        return self.created(answer, f"/api/v1/defects/{acted.defect.id}", representation=body)


class DefectView(ClubView):
    """One defect."""

    answers = {"GET": OneDefectShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The defect with the acts that you may take now."""
        return Response(shown_to(selectors.defect_of(self.club.id, pk), self.member, self.now))
