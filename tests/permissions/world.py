"""Two clubs with one of everything each, and a client for anybody."""

import io
import re
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image
from rest_framework.test import APIClient

from fleet.models import Aircraft, AircraftType, Authorisation, Club, Document, Event, Membership, Notification, Role
from fleet.services import access
from inspections.models import Inspection, Occurrence, RiggingEvent, Sheet
from inspections.services import events
from tests.factories import (
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    deferred,
    inspect,
    make_aircraft,
    reported,
    rig,
)


def client_of(member: Membership | None) -> APIClient:
    """A program of this member, or of nobody."""
    client = APIClient(raise_request_exception=True)
    if member is not None:
        _token, secret = access.issue_token(by=member, name="test", at=timezone.now())
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


@dataclass
class World:
    """A club, a member of each role, and the id of one record for each kind of route."""

    club: Club
    members: dict[Role, Membership]
    ids: dict[str, Any]
    aircraft: Aircraft

    def url(self, route: str, *, unknown: bool = False) -> str:
        """The route with this club's ids, or with ids that exist nowhere."""
        own = self.ids.get(route.split("/")[0], {})
        kind = self.ids.get("/".join(route.split("/")[:3:2]), own)

        def fill(found: re.Match[str]) -> str:
            if found[1] == "slug":
                return "not_found"
            record = own if found[2] == "type_id" else kind
            return str(uuid4() if unknown else record)

        return "/api/v1/" + re.sub(r"<(\w+):(\w+)>", fill, route)


def photo() -> SimpleUploadedFile:
    """A small PNG."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8), "red").save(out, "PNG")
    return SimpleUploadedFile("photo.png", out.getvalue(), "image/png")


def make_world() -> World:
    """Everything once, made through services and API."""
    club = ClubFactory.create()
    members: dict[Role, Membership] = {
        role: (InspectorFactory if role is Role.INSPECTOR else MemberFactory).create(club=club, roles=[role])
        for role in Role
    }
    aircraft = make_aircraft(club)
    now = timezone.now()
    defect = reported(aircraft, at=now)
    deferred(aircraft, at=now)
    inspect(aircraft, at=now)
    rig(aircraft, at=now)
    events.report_occurrence(
        aircraft_id=aircraft.id,
        by=members[Role.PILOT],
        at=now,
        kind="heavy_landing",
        occurred_at=now,
        description="Hard.",
    )
    attached = client_of(members[Role.PILOT]).post(
        "/api/v1/attachments", {"file": photo(), "defect": str(defect.id)}, format="multipart"
    )
    assert attached.status_code == 201, attached.content
    note = Notification.objects.create(
        club=club, recipient=members[Role.PILOT], kind="x", key=str(uuid4()), message="x", created_at=now
    )
    token, _ = access.issue_token(by=members[Role.PILOT], name="kept", at=now)
    of_club = {"aircraft__club": club}
    ids: dict[str, Any] = {
        "tokens": token.id,
        "aircraft-types": AircraftType.objects.filter(club=club).values_list("id", flat=True)[0],
        "aircraft": aircraft.id,
        "documents": Document.objects.filter(**of_club).values_list("id", flat=True)[0],
        "members": members[Role.PILOT].id,
        "authorisations": Authorisation.objects.filter(membership__club=club).values_list("id", flat=True)[0],
        "events": Event.objects.filter(club=club).values_list("id", flat=True)[0],
        "notifications": note.id,
        "defects": defect.id,
        "inspections": Inspection.objects.filter(**of_club).values_list("id", flat=True)[0],
        "occurrences": Occurrence.objects.filter(**of_club).values_list("id", flat=True)[0],
        "rigging-events": RiggingEvent.objects.filter(**of_club).values_list("id", flat=True)[0],
        "attachments": attached.json()["id"],
    }
    ids["aircraft-types/items"] = aircraft.aircraft_type.items.values_list("id", flat=True)[0]
    ids["aircraft-types/sheets"] = Sheet.objects.filter(aircraft_type_id=ids["aircraft-types"]).values_list(
        "id", flat=True
    )[0]
    return World(club=club, members=members, ids=ids, aircraft=aircraft)
