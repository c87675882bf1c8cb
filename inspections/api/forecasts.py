"""When a due item will be reached, from the aircraft's own seasons."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Sum
from django.db.models.functions import ExtractMonth, ExtractYear
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.airworthiness.due import Dimension
from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.forecast import MonthlyUsage, Outlook, limit_reached
from fleet.api.base import ClubView
from fleet.models import UsageEntry
from inspections.api.due_items import due_items_of, meter_of
from inspections.models import DueItem
from inspections.services.limits import read


class DimensionForecastShape(serializers.Serializer[Any]):
    """When one usage limit is reached. In one of ten futures earlier than the range, in one of ten later."""

    dimension = serializers.CharField()
    left = serializers.IntegerField(allow_null=True)
    outlook = serializers.ChoiceField([one.value for one in Outlook])
    earliest_on = serializers.DateField(allow_null=True)
    median_on = serializers.DateField(allow_null=True)
    latest_on = serializers.DateField(allow_null=True)


class ForecastShape(serializers.Serializer[Any]):
    """The forecast of a due item. It plans the workshop; the limits alone say what is due."""

    due_item = serializers.UUIDField()
    due_on = serializers.DateField(allow_null=True, help_text="Its calendar limit.")
    usage = DimensionForecastShape(many=True)


def history_of(aircraft_id: UUID, until: date) -> dict[str, list[MonthlyUsage]]:
    """Usage month by month by dimension, from the first month recorded; a month without an entry was not flown."""
    rows = list(
        UsageEntry.objects.filter(aircraft_id=aircraft_id)
        .exclude(source=UsageEntry.Source.OPENING)
        .values(year=ExtractYear("flown_on"), month=ExtractMonth("flown_on"))
        .annotate(**{f"sum_{name}": Sum(name) for name in Dimension})
        .order_by("year", "month")
    )
    if not rows:
        return {}
    flown = {(row["year"], row["month"]): row for row in rows}
    found: dict[str, list[MonthlyUsage]] = defaultdict(list)
    year, month = rows[0]["year"], rows[0]["month"]
    while (year, month) <= (until.year, until.month):
        row: Mapping[str, Any] = flown.get((year, month), {})
        for name in Dimension:
            amount = max(int(row.get(f"sum_{name}", 0)), 0)  # a correction may be dated in another month
            found[name].append(MonthlyUsage(year=year, month=month, amount=amount))
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return found


def _dimension(item: DueItem, dimension: Dimension, history: list[MonthlyUsage], today: date) -> dict[str, Any]:
    limit, reading = read(item).in_dimension(dimension), meter_of(item.aircraft).get(dimension)
    unknown = {"outlook": Outlook.NOT_ENOUGH_HISTORY, "earliest_on": None, "median_on": None, "latest_on": None}
    if limit is None or reading is None:
        return {"dimension": dimension, "left": None, **unknown}
    told = limit_reached(limit.due - reading, history, today)
    days = {name: getattr(told, name) for name in ("earliest_on", "median_on", "latest_on")}
    return {"dimension": dimension, "left": limit.due - reading, "outlook": told.outlook, **days}


class ForecastView(ClubView):
    """When a due item will be reached."""

    answers = {"GET": ForecastShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The day on which each usage limit will be reached: median with an 80 % range."""
        today = flying_day(self.now, self.club.time_zone)
        item = self.get_or_404(due_items_of(self.club.id), pk)
        history = history_of(item.aircraft_id, today)
        limited = [limit.dimension for limit in read(item).usage]
        usage = [_dimension(item, dimension, history.get(dimension, []), today) for dimension in limited]
        return Response({"due_item": item.id, "due_on": item.due_on, "usage": usage})
