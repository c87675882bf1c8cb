"""How usage is sent and shown."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, PolymorphicProxySerializer, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from fleet.api.fields import CivilDate, ClientId, Id, PastInstant, Text, Whole
from fleet.api.verdicts import AirworthinessShape, MemberShape, shown_member
from fleet.models import DIMENSIONS, UsageEntry
from fleet.models.usage import LAUNCH_KINDS

MOST_ENTRIES = 200
BY_HAND = [choice for choice in UsageEntry.Source.choices if choice[0] in {"manual", "opening"}]
WITH_CORRECTS = frozenset({"id", "corrects", "remark"})
WITH_ENTRIES = frozenset({"aircraft", "source", "entries"})
AIRCRAFT = "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20"


class EntryBody(serializers.Serializer[Any]):
    """A flight or a day's flying. What is left out follows from the rest."""

    id = ClientId()
    flown_on = CivilDate(required=False, help_text="In the club's zone. Without it: the day of the take-off.")
    takeoff_at = PastInstant(required=False)
    landing_at = PastInstant(required=False)
    airframe_minutes = Whole(required=False, min_value=0, help_text="Without it: from take-off to landing.")
    winch_launches = Whole(required=False, min_value=0)
    aerotow_launches = Whole(required=False, min_value=0)
    self_launches = Whole(required=False, min_value=0)
    other_launches = Whole(required=False, min_value=0)
    landings = Whole(required=False, min_value=0, help_text="Without it: as many as launches.")
    engine_minutes = Whole(required=False, min_value=0)
    engine_starts = Whole(required=False, min_value=0)
    cycles = Whole(required=False, min_value=0)
    remark = Text(required=False, allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A flight",
            request_only=True,
            value={
                "aircraft": AIRCRAFT,
                "takeoff_at": "2026-05-14T09:12:00Z",
                "landing_at": "2026-05-14T10:59:00Z",
                "winch_launches": 1,
            },
        ),
        OpenApiExample(
            "The flying of two days",
            request_only=True,
            value={
                "aircraft": AIRCRAFT,
                "entries": [
                    {"flown_on": "2026-05-09", "airframe_minutes": 107, "winch_launches": 6},
                    {"flown_on": "2026-05-10", "airframe_minutes": 95, "winch_launches": 3, "aerotow_launches": 1},
                ],
            },
        ),
        OpenApiExample(
            "The opening balance: what had been flown when the day began",
            request_only=True,
            value={
                "aircraft": AIRCRAFT,
                "source": "opening",
                "flown_on": "2026-01-01",
                "airframe_minutes": 74230,
                "winch_launches": 2811,
            },
        ),
        OpenApiExample(
            "A correction",
            request_only=True,
            value={"corrects": "8f6a3d0e-6f55-4c0c-9d11-0f4cf0b3b7aa", "remark": "Was flown with another aircraft."},
        ),
    ]
)
class UsageBody(EntryBody):
    """One entry, several of one aircraft (``entries``), or a correction (``corrects`` and ``remark``)."""

    aircraft = Id(required=False)
    source = serializers.ChoiceField(BY_HAND, required=False, help_text="manual, if left out.")  # type: ignore[assignment]  # a field, taken off by the framework
    entries = EntryBody(many=True, required=False, allow_empty=False, max_length=MOST_ENTRIES)  # type: ignore[call-arg]  # of the list
    corrects = Id(required=False, help_text="The entry that is taken back whole.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One of the three forms, and nothing of the others."""
        if "corrects" in attrs:
            _only(
                attrs, WITH_CORRECTS, needed="remark", what="A correction takes back the whole entry: leave this out."
            )
        elif "entries" in attrs:
            _only(attrs, WITH_ENTRIES, needed="aircraft", what="Say this of each of the entries instead.")
        elif "aircraft" not in attrs:
            raise serializers.ValidationError({"aircraft": [ErrorDetail("Say which aircraft.", code="required")]})
        return attrs


def _only(sent: dict[str, Any], allowed: frozenset[str], *, needed: str, what: str) -> None:
    surplus = {name: [ErrorDetail(what, code="not_here")] for name in sent if name not in allowed}
    missing = {} if sent.get(needed) else {needed: [ErrorDetail("This is needed here.", code="required")]}
    if surplus or missing:
        raise serializers.ValidationError({**surplus, **missing})


class AmountsShape(serializers.Serializer[Any]):
    """Usage by dimension: whole minutes and whole numbers."""

    airframe_minutes = serializers.IntegerField()
    launches = serializers.IntegerField()
    landings = serializers.IntegerField()
    engine_minutes = serializers.IntegerField()
    engine_starts = serializers.IntegerField()
    cycles = serializers.IntegerField()


class FlownShape(AmountsShape):
    """Usage with the kinds of launches."""

    winch_launches = serializers.IntegerField()
    aerotow_launches = serializers.IntegerField()
    self_launches = serializers.IntegerField()
    other_launches = serializers.IntegerField()


class UsageEntryShape(FlownShape):
    """A usage entry. Amounts of a correction are negative."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    source = serializers.ChoiceField(UsageEntry.Source.choices)  # type: ignore[assignment]  # likewise
    flown_on = serializers.DateField()
    takeoff_at = serializers.DateTimeField(allow_null=True)
    landing_at = serializers.DateTimeField(allow_null=True)
    corrects = serializers.UUIDField(allow_null=True)
    corrected_by = serializers.UUIDField(allow_null=True)
    reference = serializers.CharField(allow_blank=True, help_text="Content and line of the file that it came from.")
    remark = serializers.CharField(allow_blank=True)
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


class EntryRecordedShape(UsageEntryShape):
    """The entry, the totals after it and the verdict as committed."""

    totals = AmountsShape(allow_null=True, help_text="null: not known without an opening balance.")
    airworthiness = AirworthinessShape()


class EntriesRecordedShape(serializers.Serializer[Any]):
    """The entries, the totals after them and the verdict as committed."""

    entries = UsageEntryShape(many=True)
    totals = AmountsShape(allow_null=True)
    airworthiness = AirworthinessShape()


RECORDED = PolymorphicProxySerializer(
    component_name="UsageRecorded",
    serializers=[EntryRecordedShape, EntriesRecordedShape],
    resource_type_field_name=None,
)
"""An entry where one was sent, else entries."""

PLAIN = (
    *("id", "source", "flown_on", "takeoff_at", "landing_at", "reference", "remark", "recorded_at"),
    *DIMENSIONS,
    *LAUNCH_KINDS,
)


def shown(entry: UsageEntry) -> dict[str, Any]:
    """An entry read by ``usage_entries_of``; no further query."""
    return {
        **{name: getattr(entry, name) for name in PLAIN},
        "aircraft": entry.aircraft_id,
        "registration": entry.aircraft.registration,
        "corrects": entry.corrects_id,
        "corrected_by": getattr(getattr(entry, "corrected_by", None), "id", None),
        "recorded_by": shown_member(entry.recorded_by),
    }
