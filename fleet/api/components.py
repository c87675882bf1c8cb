"""Components: the register of serialised parts."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import Exists, OuterRef, QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import life
from fleet.airworthiness.verdict import Verdict
from fleet.api import etags
from fleet.api.base import ClubView
from fleet.api.component_looks import shown, shown_many
from fleet.api.component_shapes import ChangeComponentBody, ComponentBody, ComponentChangedShape, ComponentShape
from fleet.api.listing import ListView
from fleet.api.pagination import KeysetPages
from fleet.api.verdicts import shown_verdict
from fleet.models import Component, Installation
from fleet.permissions import KEEPERS
from fleet.selectors import component_kinds_of, components_of
from fleet.services import components, stores


def with_verdict(body: dict[str, Any], verdict: Verdict | None) -> dict[str, Any]:
    """The component with the verdict on the aircraft concerned, if one is."""
    return {**body, "airworthiness": shown_verdict(verdict) if verdict else None}


class ComponentFilter(django_filters.FilterSet):
    """By kind, serial number, condition, and where it is now."""

    kind = django_filters.UUIDFilter(field_name="kind_id")
    serial_number = django_filters.CharFilter()
    condition = django_filters.MultipleChoiceFilter(choices=Component.Condition.choices)
    aircraft = django_filters.UUIDFilter(method="in_aircraft", label="aircraft")
    installed = django_filters.BooleanFilter(method="in_a_place", label="installed")

    class Meta:
        model = Component
        fields: tuple[str, ...] = ()

    def in_aircraft(self, rows: QuerySet[Component], _name: str, aircraft_id: UUID) -> QuerySet[Component]:
        """Also inside other components."""
        return rows.filter(id__in=[one.component_id for one in life.installed_in([aircraft_id])[aircraft_id]])

    def in_a_place(self, rows: QuerySet[Component], _name: str, installed: bool) -> QuerySet[Component]:
        """Installed anywhere, in another component too."""
        place = Exists(Installation.objects.filter(component=OuterRef("id"), removed_at=None))
        return rows.filter(place if installed else ~place)


class ComponentsView(ListView):
    """Components of the club."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": ComponentBody}
    answers = {"GET": ComponentShape, "POST": ComponentShape}
    filterset_class = ComponentFilter
    ordering = "-recorded_at"
    ordering_fields = ("serial_number",)

    def get(self, request: Request) -> Response:
        """Components, newest first, with what they have run and where they are."""
        pages = KeysetPages()
        named = (self.ordering.removeprefix("-"), *self.ordering_fields)
        found = pages.paginate(self.filtered(components_of(self.club.id)), self.request, self.ordering, named)
        return pages.answer(shown_many(found))

    def post(self, request: Request) -> Response:
        """Take a component in with what it had run. Without known history it is unserviceable (ML.A.504)."""
        sent = self.validated()
        brought = dict(sent.pop("brought_forward", {}))
        known = sent.pop("history_known", any(amount is not None for amount in brought.values()))
        component = components.add(
            kind=self.get_or_404(component_kinds_of(self.club.id), sent.pop("kind"), pointer="/kind"),
            by=self.member,
            at=self.now,
            component_id=sent.pop("id", None),
            history_known=known,
            brought_forward=brought,
            **sent,
        )
        body = shown(components_of(self.club.id).get(id=component.id))
        return self.created(body, f"/api/v1/components/{component.id}")


class ComponentView(ClubView):
    """One component."""

    permits = {"PATCH": stores.FITTERS}
    bodies = {"PATCH": ChangeComponentBody}
    answers = {"GET": ComponentShape, "PATCH": ComponentChangedShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The component, what it has run and where it is."""
        return Response(shown(self.get_or_404(components_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Correct what was said when it came, or declare its condition, which is an inspector's."""
        sent = self.validated()
        stores.lock(self.member)
        self.require_match(shown(self.get_or_404(components_of(self.club.id), pk)))
        verdict = self._change(pk, sent)
        body = shown(components_of(self.club.id).get(id=pk))
        return Response(with_verdict(body, verdict), headers={"ETag": etags.of_representation(body)})

    def _change(self, pk: UUID, sent: dict[str, Any]) -> Verdict | None:
        condition, reason = sent.pop("condition", None), sent.pop("reason", "")
        changes = {**sent.pop("brought_forward", {}), **sent}
        verdict = None
        if changes or condition is None:
            _, verdict = components.correct(component_id=pk, by=self.member, at=self.now, changes=changes)
        if condition is not None:
            components.set_condition(component_id=pk, by=self.member, at=self.now, condition=condition, reason=reason)
        return verdict
