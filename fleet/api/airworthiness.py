"""What was, and is, shown for one aircraft: at an instant, and as periods."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import assessment
from fleet.api.base import ClubView
from fleet.api.fields import PastInstant
from fleet.api.listing import ListView
from fleet.api.pagination import KeysetPages
from fleet.api.verdicts import AirworthinessShape
from fleet.errors import NotFound
from fleet.models import Aircraft, AssessmentPeriod
from fleet.selectors import aircraft_of, periods_of

TOLD = ("status", "ready_today", "reasons", "limitations")
OFFSET_LENGTH = len("+00:00")


class QueryInstant(PastInstant):
    """As in a body; the plus sign of the offset, if sent unescaped, arrives as a blank and is read as what it was."""

    def to_internal_value(self, value: Any) -> datetime:
        """Raises ValidationError."""
        if value[-OFFSET_LENGTH : -OFFSET_LENGTH + 1] == " ":
            value = f"{value[:-OFFSET_LENGTH]}+{value[-OFFSET_LENGTH + 1 :]}"
        return super().to_internal_value(value)


class AtQuery(serializers.Serializer[Any]):
    """For which instant."""

    at = QueryInstant(required=False, help_text="Any past instant with its offset (RFC 3339); now, if left out.")


class AircraftAirworthinessShape(AirworthinessShape):
    """What is shown for an aircraft at an instant."""

    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    assessed_at = serializers.DateTimeField(help_text="The instant for which this holds.")
    at = serializers.DateTimeField(allow_null=True, help_text="The instant asked for; null: now.")


class PeriodShape(AirworthinessShape):
    """What was shown from one instant (inclusive) to another (exclusive; null: it is still shown)."""

    def get_fields(self) -> dict[str, Any]:
        """``from`` is a word of the language, so it is named here."""
        ends = {"from": serializers.DateTimeField(), "to": serializers.DateTimeField(allow_null=True)}
        return {**ends, **super().get_fields()}


class AirworthinessView(ClubView):
    """What is shown for an aircraft."""

    query = AtQuery
    answers = {"GET": AircraftAirworthinessShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """Status, reasons and limitations, now or as they were shown at a past instant. No permission to fly."""
        found = self.get_or_404(aircraft_of(self.club.id), pk)
        asked = self.validated_query().get("at")
        at = self.now if asked is None else min(asked, self.now)
        look = assessment.shown_at(found.airworthiness, at) if asked is None else self._past(found, at)
        told = {name: look[name] for name in TOLD}
        names = {"aircraft": found.id, "registration": found.registration}
        return Response({**names, **told, "assessed_at": at, "at": asked})

    def _past(self, aircraft: Aircraft, at: datetime) -> Mapping[str, Any]:
        periods = periods_of(self.club.id).filter(aircraft=aircraft)
        period = periods.filter(Q(shown_to=None) | Q(shown_to__gt=at), shown_from__lte=at).first()
        if period is None:
            raise _no_record_then(aircraft)
        if period.shown_to is None:
            return assessment.shown_at(period.aircraft.airworthiness, at)
        return {name: getattr(period, name) for name in TOLD}


def _no_record_then(aircraft: Aircraft) -> NotFound:
    began = aircraft.created_at.isoformat().replace("+00:00", "Z")
    return NotFound(
        "no_record_then", f"The record of {aircraft.registration} begins at {began}. Ask for a later instant."
    )


def _period(begins: datetime, ends: datetime | None, look: Mapping[str, Any]) -> dict[str, Any]:
    return {"from": begins, "to": ends, **{name: look[name] for name in TOLD}}


def _unfolded(period: AssessmentPeriod, now: datetime) -> list[dict[str, Any]]:
    """The period; if it is open and its verdict has run out, followed by what time alone has made of it since."""
    turns = assessment.turned(period.aircraft.airworthiness, now) if period.shown_to is None else []
    begins, look = period.shown_from, {name: getattr(period, name) for name in TOLD}
    periods = []
    for turn, after in turns:
        if any(after[name] != look[name] for name in TOLD):
            periods.append(_period(begins, turn, look))
            begins, look = turn, after
    return [*periods, _period(begins, period.shown_to, look)]


class AssessmentsView(ListView):
    """Periods of what was shown for an aircraft."""

    answers = {"GET": PeriodShape}
    ordering = "shown_from"
    ordering_fields = ("shown_from",)

    def get(self, request: Request, pk: UUID) -> Response:
        """Periods, oldest to newest, without gaps from the beginning of the record until now."""
        found = self.get_or_404(aircraft_of(self.club.id), pk)
        rows = periods_of(self.club.id).filter(aircraft=found)
        pages = KeysetPages()
        page = pages.paginate(self.filtered(rows), self.request, self.ordering, self.ordering_fields)
        step = -1 if pages.chosen.startswith("-") else 1
        return pages.answer([shown for period in page for shown in _unfolded(period, self.now)[::step]])
