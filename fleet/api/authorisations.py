"""Inspectors' authorisations: what they cover, and until when."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import TextChoices
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import CivilDate, ClientId, Flag, Id, Text
from fleet.api.listing import ListView
from fleet.models import AircraftCategory, Authorisation, Privilege
from fleet.permissions import ADMINISTRATORS
from fleet.selectors import authorisations_of, members_of
from fleet.services import people


def _some_of(choices: type[TextChoices]) -> serializers.ListField:
    return serializers.ListField(child=serializers.ChoiceField(choices.choices), min_length=1, max_length=len(choices))


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "An inspector of sailplanes",
            request_only=True,
            value={
                "member": "0f0a5a5e-8f0e-4df3-9f6c-1f3a52b7c1aa",
                "licence_number": "ZZ.66.0815",
                "privileges": ["release", "independent_inspection"],
                "categories": ["sailplane", "powered_sailplane"],
                "valid_from": "2026-01-01",
                "valid_until": "2027-12-31",
                "issued_by": "Invented Authority",
            },
        )
    ]
)
class AuthorisationBody(serializers.Serializer[Any]):
    """A new authorisation."""

    id = ClientId()
    member = Id()
    licence_number = Text(max_length=60)
    privileges = _some_of(Privilege)
    categories = _some_of(AircraftCategory)
    aircraft_types = serializers.ListField(
        child=Id(), max_length=200, default=list, help_text="None named: every type of the categories."
    )
    valid_from = CivilDate()
    valid_until = CivilDate(help_text="Last valid day.")
    issued_by = Text(max_length=120)


class ChangeAuthorisationBody(serializers.Serializer[Any]):
    """Shorten or revoke; a longer or wider one is a new authorisation."""

    valid_until = CivilDate(help_text="An earlier last valid day.")
    revoked = Flag(help_text="true: from now on it counts no more. Not to be undone.")

    def validate_revoked(self, value: bool) -> bool:
        """What was revoked is not restored in silence."""
        if not value:
            raise serializers.ValidationError(
                "Send true, or leave it out. Record a new one instead.", code="not_undone"
            )
        return value


class AuthorisationShape(serializers.Serializer[Any]):
    """An authorisation."""

    id = serializers.UUIDField()
    member = serializers.UUIDField()
    member_name = serializers.CharField()
    licence_number = serializers.CharField()
    privileges = serializers.ListField(child=serializers.ChoiceField(Privilege.choices))
    categories = serializers.ListField(child=serializers.ChoiceField(AircraftCategory.choices))
    aircraft_types = serializers.ListField(child=serializers.UUIDField())
    valid_from = serializers.DateField()
    valid_until = serializers.DateField()
    issued_by = serializers.CharField()
    revoked_at = serializers.DateTimeField(allow_null=True)


def shown(authorisation: Authorisation) -> dict[str, Any]:
    """An authorisation in JSON types."""
    return {
        "id": authorisation.id,
        "member": authorisation.membership_id,
        "member_name": authorisation.membership.person.full_name,
        "licence_number": authorisation.licence_number,
        "privileges": authorisation.privileges,
        "categories": authorisation.categories,
        "aircraft_types": sorted(one.id for one in authorisation.aircraft_types.all()),
        "valid_from": authorisation.valid_from,
        "valid_until": authorisation.valid_until,
        "issued_by": authorisation.issued_by,
        "revoked_at": authorisation.revoked_at,
    }


class AuthorisationFilter(django_filters.FilterSet):
    """By member and whether revoked."""

    member = django_filters.UUIDFilter(field_name="membership_id")
    revoked = django_filters.BooleanFilter(field_name="revoked_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Authorisation
        fields: tuple[str, ...] = ()


class AuthorisationsView(ListView):
    """Authorisations of the club's members."""

    permits = {"POST": ADMINISTRATORS}
    bodies = {"POST": AuthorisationBody}
    answers = {"GET": AuthorisationShape, "POST": AuthorisationShape}
    filterset_class = AuthorisationFilter
    ordering = "-valid_from"
    ordering_fields = ("valid_until",)

    def get(self, request: Request) -> Response:
        """Authorisations, the latest first, ended ones included."""
        return self.page(authorisations_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Record the authorisation of a member. Nobody records their own."""
        sent = self.validated()
        member = self.get_or_404(members_of(self.club.id).select_related("club"), sent.pop("member"), pointer="/member")
        added = people.authorise(
            member=member, by=self.member, at=self.now, authorisation_id=sent.pop("id", None), **sent
        )
        return self.created(shown(added), f"/api/v1/authorisations/{added.id}")


class AuthorisationView(ClubView):
    """One authorisation."""

    permits = {"PATCH": ADMINISTRATORS}
    bodies = {"PATCH": ChangeAuthorisationBody}
    answers = {"GET": AuthorisationShape, "PATCH": AuthorisationShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The authorisation."""
        return Response(shown(self.get_or_404(authorisations_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Shorten or revoke the authorisation."""
        changes = self.validated()
        found = self.get_or_404(authorisations_of(self.club.id).select_for_update(of=("self",), no_key=True), pk)
        self.require_match(shown(found))
        return changed(shown(people.change_authorisation(found, by=self.member, at=self.now, changes=changes)))
