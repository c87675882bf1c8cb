"""The board: the whole fleet on one page of data, in one query whatever its size.

What is stored is the answer, and its JSON goes out as it lies there, unread. A verdict that has run out is evaluated
anew before it is shown.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from hashlib import blake2b
from typing import Any
from uuid import UUID

import orjson
from django.db.models import BigIntegerField, Func, QuerySet, TextField
from django.db.models.functions import Cast
from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import assessment
from fleet.api.base import ClubView
from fleet.api.etags import already_has
from fleet.api.renderers import to_json
from fleet.api.verdicts import AirworthinessShape, SubjectShape
from fleet.models import Aircraft, AirworthinessState, StatusCode

Row = dict[str, Any]
SHOWN: Mapping[str, Any] = {
    "aircraft": "id",
    "registration": "registration",
    "aircraft_type": "aircraft_type__designation",
    "aircraft_type_id": "aircraft_type_id",
    "status": "airworthiness__status",
    "ready_today": "airworthiness__ready_today",
    "reasons": Cast("airworthiness__reasons", TextField()),
    "limitations": "airworthiness__limitations",
    "open_defects": "airworthiness__open_defects",
    "next_due": Cast("airworthiness__next_due", TextField()),
}
CONTENT = (
    "id",
    "registration",
    "aircraft_type_id",
    "aircraft_type__designation",
    *(f"airworthiness__{name}" for name in (*assessment.SHOWN, "valid_until")),
)
# a number that tells the content of a row, formed by the database without handing the content out
VERSION = Func(*CONTENT, template="hash_record_extended(ROW(%(expressions)s), 0)", output_field=BigIntegerField())
BRIEF: Mapping[str, Any] = {
    "aircraft": "id",
    "status": "airworthiness__status",
    "valid_until": "airworthiness__valid_until",
    "version": VERSION,
}


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


def _read(fleet: QuerySet[Aircraft], columns: Mapping[str, Any]) -> list[Row]:
    return [dict(zip(columns, values, strict=True)) for values in fleet.values_list(*columns.values())]


def _expired(rows: Sequence[Row], at: datetime) -> list[AirworthinessState]:
    """Whose verdict has run out, or is not there at all."""
    return [
        AirworthinessState(aircraft_id=row["aircraft"], valid_until=row["valid_until"] or at)
        for row in rows
        if row["status"] is None or (row["valid_until"] is not None and row["valid_until"] <= at)
    ]


def _shown(row: Row, anew: Mapping[UUID, Mapping[str, Any]]) -> Row:
    shown = {name: row[name] for name in SHOWN}
    if row["aircraft"] in anew:
        return {**shown, **anew[row["aircraft"]]}
    shown["reasons"] = orjson.Fragment(row["reasons"])
    shown["next_due"] = row["next_due"] and orjson.Fragment(row["next_due"])
    return shown


def _tag(parts: Sequence[object]) -> str:
    """Weak: two answers with the same tag say the same of the fleet, as of two instants."""
    return f'W/"{blake2b(to_json(parts), digest_size=16).hexdigest()}"'


class BoardView(ClubView):
    """The board."""

    query = BoardQuery
    answers = {"GET": BoardShape}

    def get(self, request: Request) -> HttpResponse | Response:
        """Every aircraft of the club by registration, with what is shown for it now."""
        status = self.validated_query().get("status")
        fleet = Aircraft.objects.filter(club=self.club).order_by("registration")
        if "If-None-Match" in self.request.headers and (known := self._unread(fleet, status)):
            return known
        rows = _read(fleet, {**SHOWN, **BRIEF})
        anew = assessment.shown_many(_expired(rows, self.now), self.now)
        board = [(row, shown) for row in rows if (shown := _shown(row, anew)) and status in (None, shown["status"])]
        tag = _tag([shown if row["aircraft"] in anew else row["version"] for row, shown in board])
        return self._known(tag) or Response(
            {"as_of": self.now, "results": [shown for _, shown in board]}, headers={"ETag": tag}
        )

    def _unread(self, fleet: QuerySet[Aircraft], status: str | None) -> HttpResponse | None:
        """304 without reading what is shown, unless a verdict has run out."""
        rows = _read(fleet, BRIEF)
        if _expired(rows, self.now):
            return None
        return self._known(_tag([row["version"] for row in rows if status in (None, row["status"])]))

    def _known(self, tag: str) -> HttpResponse | None:
        wanted = self.request.headers.get("If-None-Match", "")
        if not already_has(wanted, tag.removeprefix("W/")):
            return None
        return HttpResponse(status=304, headers={"ETag": tag})
