"""The club and its settings."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed
from fleet.api.base import ClubView
from fleet.api.fields import Whole
from fleet.models import Club, DocumentKind
from fleet.permissions import ADMINISTRATORS
from fleet.services import people


class SettingsShape(serializers.Serializer[Any]):
    """Settings that the rules read."""

    triage_limit_days = Whole(min_value=1, max_value=30, help_text="An untriaged defect grounds after so many days.")
    decision_limit_days = Whole(min_value=1, max_value=60, help_text="An undecided defect grounds after so many days.")
    repeat_count = Whole(min_value=2, max_value=20, help_text="An item that failed so often is a repeat defect ...")
    repeat_within_days = Whole(min_value=1, max_value=366, help_text="... inside so many days ...")
    repeat_within_flights = Whole(min_value=1, max_value=1000, help_text="... or so many flights.")
    document_notice_days = Whole(min_value=0, max_value=180, help_text="Notice before a document expires.")
    required_documents = serializers.ListField(
        child=serializers.ChoiceField(DocumentKind.choices),
        max_length=len(DocumentKind),
        help_text="Without these an aircraft is grounded.",
    )


class ChangeClubBody(serializers.Serializer[Any]):
    """What of a club may change."""

    settings = SettingsShape()


class ClubShape(serializers.Serializer[Any]):
    """The club of who asks."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    time_zone = serializers.CharField(help_text="IANA name; a flying day is a date in this zone.")
    settings = SettingsShape()


SETTINGS = tuple(SettingsShape().fields)


def settings_of(club: Club) -> dict[str, Any]:
    """The settings in force."""
    return {name: getattr(club, name) for name in SETTINGS}


def shown(club: Club) -> dict[str, Any]:
    """A club in JSON types."""
    return {"id": club.id, "name": club.name, "time_zone": club.time_zone, "settings": settings_of(club)}


class OwnClubView(ClubView):
    """The club of who asks."""

    permits = {"PATCH": ADMINISTRATORS}
    bodies = {"PATCH": ChangeClubBody}
    answers = {"GET": ClubShape, "PATCH": ClubShape}

    def get(self, request: Request) -> Response:
        """The club with its settings."""
        return Response(shown(self.club))

    def patch(self, request: Request) -> Response:
        """Change settings; every aircraft of the club is judged anew."""
        changes = self.validated().get("settings", {})
        if "required_documents" in changes:
            changes["required_documents"] = sorted(set(changes["required_documents"]))
        club = Club.objects.select_for_update(no_key=True).get(id=self.club.id)
        self.require_match(shown(club))
        return changed(shown(people.change_settings(club, by=self.member, at=self.now, changes=changes)))
