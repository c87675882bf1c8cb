"""Members of the club and their roles."""

from typing import Any
from uuid import UUID

import django_filters
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import ClientId, Flag, Text
from fleet.api.listing import ListView
from fleet.models import Club, Membership, Role
from fleet.permissions import ADMINISTRATORS
from fleet.selectors import members_of
from fleet.services import people


def _roles() -> serializers.ListField:
    return serializers.ListField(child=serializers.ChoiceField(Role.choices), min_length=1, max_length=len(Role))


class ChangeMemberBody(serializers.Serializer[Any]):
    """What of a member may change."""

    full_name = Text(max_length=120)
    email = serializers.EmailField(max_length=254, allow_blank=True)
    roles = _roles()
    active = Flag(help_text="A member who is disabled is out at the next request.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A pilot",
            request_only=True,
            value={
                "username": "k.example",
                "full_name": "Kim Example",
                "email": "kim@club.example",
                "roles": ["pilot"],
                "password": "three windsocks and a winch",
            },
        )
    ]
)
class MemberBody(serializers.Serializer[Any]):
    """A new member, who is a new person."""

    id = ClientId()
    username = Text(max_length=150, validators=[UnicodeUsernameValidator()])
    full_name = Text(max_length=120)
    email = serializers.EmailField(max_length=254, allow_blank=True, default="")
    roles = _roles()
    password = Text(max_length=1000, trim_whitespace=False, help_text="At least twelve characters, no common one.")


class MemberRecordShape(serializers.Serializer[Any]):
    """A member of the club."""

    id = serializers.UUIDField()
    username = serializers.CharField()
    full_name = serializers.CharField()
    email = serializers.EmailField(
        allow_null=True, allow_blank=True, help_text="null: shown only to administrators and to the member."
    )
    roles = serializers.ListField(child=serializers.ChoiceField(Role.choices))
    active = serializers.BooleanField()
    joined_at = serializers.DateTimeField()


def shown_to(member: Membership, asking: Membership) -> dict[str, Any]:
    """A member in JSON types, as the one who asks may see it."""
    private = asking.id == member.id or asking.holds(*ADMINISTRATORS)
    return {
        "id": member.id,
        "username": member.person.username,
        "full_name": member.person.full_name,
        "email": member.person.email if private else None,
        "roles": member.roles,
        "active": member.active,
        "joined_at": member.joined_at,
    }


class MemberFilter(django_filters.FilterSet):
    """By user name, role and whether active."""

    username = django_filters.CharFilter(field_name="person__username")
    role = django_filters.ChoiceFilter(choices=Role.choices, method="holding", label="role")
    active = django_filters.BooleanFilter()

    class Meta:
        model = Membership
        fields: tuple[str, ...] = ()

    def holding(self, rows: QuerySet[Membership], _name: str, role: str) -> QuerySet[Membership]:
        """Who holds the role, alone or among others."""
        return rows.filter(roles__contains=[role])


class MembersView(ListView):
    """Members of the club."""

    permits = {"POST": ADMINISTRATORS}
    bodies = {"POST": MemberBody}
    answers = {"GET": MemberRecordShape, "POST": MemberRecordShape}
    filterset_class = MemberFilter
    ordering = "joined_at"

    def get(self, request: Request) -> Response:
        """Members in the order in which they joined, disabled ones included."""
        return self.page(members_of(self.club.id), lambda member: shown_to(member, self.member))

    def post(self, request: Request) -> Response:
        """Add a member with a new user name."""
        sent = self.validated()
        added = people.enrol(club=self.club, by=self.member, at=self.now, member_id=sent.pop("id", None), **sent)
        return self.created(shown_to(added, self.member), f"/api/v1/members/{added.id}")


class OwnMemberView(ClubView):
    """Who asks."""

    answers = {"GET": MemberRecordShape}

    def get(self, request: Request) -> Response:
        """Your own membership."""
        return Response(shown_to(self.member, self.member))


class MemberView(ClubView):
    """One member."""

    permits = {"PATCH": ADMINISTRATORS}
    bodies = {"PATCH": ChangeMemberBody}
    answers = {"GET": MemberRecordShape, "PATCH": MemberRecordShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The member."""
        return Response(shown_to(self.get_or_404(members_of(self.club.id), pk), self.member))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Change name, e-mail, roles or whether active. The last administrator stays one."""
        changes = self.validated()
        # one change of members at a time: two administrators must not remove each other at the same instant
        Club.objects.select_for_update(no_key=True).get(id=self.club.id)
        found = self.get_or_404(members_of(self.club.id), pk)
        self.require_match(shown_to(found, self.member))
        changed_member = people.change_member(found, by=self.member, at=self.now, changes=changes)
        return changed(shown_to(changed_member, self.member))
