"""What an aircraft has flown: in all, this year, and by month."""

from datetime import date
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.usage_shapes import AmountsShape, FlownShape
from fleet.models import DIMENSIONS
from fleet.models.usage import LAUNCH_KINDS
from fleet.permissions import today_in
from fleet.selectors import aircraft_of, usage_by_month

COUNTED = (*DIMENSIONS, *LAUNCH_KINDS)
MONTHS = 12


class YearShape(FlownShape):
    """What was flown in a calendar year so far."""

    year = serializers.IntegerField()


class MonthShape(FlownShape):
    """What was flown in a month."""

    month = serializers.CharField(help_text="YYYY-MM")


class AircraftUsageShape(serializers.Serializer[Any]):
    """Usage of an aircraft. Days and months are those of the club's zone."""

    aircraft = serializers.UUIDField()
    totals = AmountsShape(allow_null=True, help_text="null: not known without an opening balance.")
    recorded_to = serializers.DateTimeField(allow_null=True, help_text="Up to when usage is recorded.")
    this_year = YearShape()
    months = MonthShape(many=True, help_text="The last twelve, this one included, oldest first.")


def last_months(today: date) -> list[date]:
    """First days of the last twelve months, oldest first."""
    counted = today.year * 12 + today.month - 1
    return [date(number // 12, number % 12 + 1, 1) for number in range(counted - MONTHS + 1, counted + 1)]


class AircraftUsageView(ClubView):
    """Usage of one aircraft."""

    answers = {"GET": AircraftUsageShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """Totals by dimension, this year and the last twelve months."""
        found = self.get_or_404(aircraft_of(self.club.id).select_related("usage_total"), pk)
        total = getattr(found, "usage_total", None)
        months = last_months(today_in(self.club, self.now))
        flown = usage_by_month(found.id, months[0])
        none = dict.fromkeys(COUNTED, 0)
        this_year = [amounts for month, amounts in flown.items() if month.year == months[-1].year]
        body = {
            "aircraft": found.id,
            "totals": total and total.amounts(),
            "recorded_to": total and total.recorded_to,
            "this_year": {"year": months[-1].year, **{name: sum(one[name] for one in this_year) for name in COUNTED}},
            "months": [{"month": f"{month:%Y-%m}", **flown.get(month, none)} for month in months],
        }
        return Response(body)
