"""What components have run, as every answer shows it."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from rest_framework import serializers

from fleet import life
from fleet.api.fields import Whole
from fleet.models import DIMENSIONS, Aircraft, Component

UNKNOWN = "null: not known."


class KnownAmountsBody(serializers.Serializer[Any]):
    """Minutes and numbers by dimension; one that is left out or null is not known, and never counts as 0."""

    airframe_minutes = Whole(min_value=0, required=False, allow_null=True)
    launches = Whole(min_value=0, required=False, allow_null=True)
    landings = Whole(min_value=0, required=False, allow_null=True)
    engine_minutes = Whole(min_value=0, required=False, allow_null=True)
    engine_starts = Whole(min_value=0, required=False, allow_null=True)
    cycles = Whole(min_value=0, required=False, allow_null=True)


class KnownAmountsShape(serializers.Serializer[Any]):
    """Minutes and numbers by dimension; null: not known."""

    airframe_minutes = serializers.IntegerField(allow_null=True)
    launches = serializers.IntegerField(allow_null=True)
    landings = serializers.IntegerField(allow_null=True)
    engine_minutes = serializers.IntegerField(allow_null=True)
    engine_starts = serializers.IntegerField(allow_null=True)
    cycles = serializers.IntegerField(allow_null=True)


class LifeShape(serializers.Serializer[Any]):
    """What a component has run, counted from where it was installed and what was flown meanwhile."""

    since_new = KnownAmountsShape()
    since_overhaul = KnownAmountsShape(allow_null=True, help_text="null: it was never overhauled.")
    overhauled_on = serializers.DateField(allow_null=True)
    unknown_because = serializers.CharField(allow_null=True, help_text="Why amounts are missing, and what to do.")


def shown_amounts(amounts: Mapping[str, int | None]) -> dict[str, int | None]:
    """Every dimension, null where it is not known."""
    return {name: amounts.get(name) for name in DIMENSIONS}


def shown_lives(components: Sequence[Component], at: datetime | None = None) -> dict[UUID, dict[str, Any]]:
    """The lives of components in JSON types, now or at an instant; at most five queries for any number."""
    lives = life.lives_of(components, at)
    wanted = {span.aircraft_id for one in lives.values() for span in one.uncovered}
    marks = dict(Aircraft.objects.filter(id__in=wanted).values_list("id", "registration")) if wanted else {}
    return {one.id: _shown(one, lives[one.id], marks) for one in components}


def _shown(component: Component, lived: life.Life, marks: Mapping[UUID, str]) -> dict[str, Any]:
    return {
        "since_new": shown_amounts(lived.since_new),
        "since_overhaul": shown_amounts(lived.since_overhaul) if lived.overhaul else None,
        "overhauled_on": lived.overhaul and lived.overhaul.done_on,
        "unknown_because": _why_unknown(component, lived, marks),
    }


def _why_unknown(component: Component, lived: life.Life, marks: Mapping[UUID, str]) -> str | None:
    if not component.history_known:
        return "Its history is not known."
    if lived.uncovered:
        first = lived.uncovered[0]
        return (
            f"The usage of {marks[first.aircraft_id]} is not recorded from {first.since:%Y-%m-%d %H:%M} UTC on, when it"
            " went in. Record the opening balance of that day or before, and what was flown since."
        )
    missing = [name.replace("_", " ") for name in DIMENSIONS if name not in lived.since_new]
    return f"Not known when it came: {', '.join(missing)}." if missing else None
