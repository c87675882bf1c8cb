"""The board: the whole fleet on one page of data, in one query whatever its size."""

from collections.abc import Mapping
from hashlib import blake2b
from typing import Any
from uuid import UUID

import orjson
from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import assessment, board
from fleet.api.base import ClubView
from fleet.api.etags import already_has
from fleet.api.renderers import to_json
from fleet.api.verdicts import AirworthinessShape, SubjectShape
from fleet.models import AirworthinessState, StatusCode

Looks = Mapping[UUID, Mapping[str, Any]]


class BoardQuery(serializers.Serializer[Any]):
    """Which aircraft."""

    status = serializers.ChoiceField(StatusCode.choices, required=False, help_text="Only those that show this status.")


class NextDueShape(serializers.Serializer[Any]):
    """The next date on which something ends."""

    title = serializers.CharField()
    on = serializers.DateField()
    subject = SubjectShape()


class BoardRowShape(AirworthinessShape):
    """One aircraft of the board."""

    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    aircraft_type = serializers.CharField(help_text="Designation.")
    aircraft_type_id = serializers.UUIDField()
    open_defects = serializers.IntegerField()
    next_due = NextDueShape(allow_null=True)


class BoardShape(serializers.Serializer[Any]):
    """The whole fleet at one instant. It records and computes; it is no permission to fly."""

    as_of = serializers.DateTimeField()
    results = BoardRowShape(many=True)


def _shown(row: board.Row, anew: Looks) -> dict[str, Any]:
    look = anew.get(row.aircraft) or {
        "status": row.status,
        "ready_today": row.ready_today,
        "reasons": orjson.Fragment(row.reasons or "[]"),
        "limitations": row.limitations,
        "open_defects": row.open_defects,
        "next_due": row.next_due and orjson.Fragment(row.next_due),
    }
    return {
        "aircraft": row.aircraft,
        "registration": row.registration,
        "aircraft_type": row.aircraft_type,
        "aircraft_type_id": row.aircraft_type_id,
        **look,
    }


def _tag(summary: board.Summary, anew: Looks) -> str:
    """Weak: two answers with the same tag say the same of the fleet, as of two instants."""
    told = to_json([summary.count, summary.versions, sorted(anew.items())])
    return f'W/"{blake2b(told, digest_size=16).hexdigest()}"'


class BoardView(ClubView):
    """The board."""

    query = BoardQuery
    answers = {"GET": BoardShape}

    def get(self, request: Request) -> HttpResponse | Response:
        """Every aircraft of the club by registration, with what is shown for it now."""
        status = self.validated_query().get("status")
        return self._unread(status) or self._read(status)

    def _unread(self, status: str | None) -> HttpResponse | None:
        """304 without reading what is shown."""
        if "If-None-Match" not in self.request.headers:
            return None
        summary = board.summary(self.club.id, status, self.now)
        return self._known(_tag(summary, {})) if summary else None

    def _read(self, status: str | None) -> HttpResponse | Response:
        rows = board.rows(self.club.id, self.now)
        expired = [AirworthinessState(aircraft_id=row.aircraft, valid_until=row.run_out) for row in rows if row.run_out]
        anew = assessment.shown_many(expired, self.now)
        fleet = [(row, _shown(row, anew)) for row in rows]
        if status is not None:
            fleet = [(row, shown) for row, shown in fleet if shown["status"] == status]
        tag = _tag(board.Summary.of(row for row, _ in fleet), anew)
        body = {"as_of": self.now, "results": [shown for _, shown in fleet]}
        return self._known(tag) or Response(body, headers={"ETag": tag})

    def _known(self, tag: str) -> HttpResponse | None:
        if already_has(self.request.headers.get("If-None-Match", ""), tag.removeprefix("W/")):
            return HttpResponse(status=304, headers={"ETag": tag})
        return None
