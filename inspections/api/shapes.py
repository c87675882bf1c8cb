"""What the API reads and answers about inspections, occurrences and rigging."""

from typing import Any

from rest_framework import serializers

from defects.models import DamageKind
from fleet.api.fields import ClientId, Id, ItemCode, Number, PastInstant, Quantity, Text
from fleet.api.verdicts import AirworthinessShape, MemberShape
from inspections.models import InspectionKind, OccurrenceKind, Outcome, RiggingEvent


class FoundBody(serializers.Serializer[Any]):
    """What was found at a line."""

    description = Text(max_length=4000)
    damage_kind = serializers.ChoiceField(DamageKind.choices, required=False)
    size_mm = Number(max_digits=8, decimal_places=1, min_value=0, required=False, allow_null=True)
    position = Text(max_length=200, required=False, allow_blank=True)


class ResultBody(serializers.Serializer[Any]):
    """The outcome of one line."""

    item = ItemCode()
    outcome = serializers.ChoiceField(Outcome.choices)
    measurement = Quantity(required=False, allow_null=True)
    remark = Text(max_length=2000, required=False, allow_blank=True)
    second_person = Id(required=False, allow_null=True)
    defect = FoundBody(required=False, allow_null=True)


class InspectionBody(serializers.Serializer[Any]):
    """An inspection."""

    id = ClientId()
    aircraft = Id()
    kind = serializers.ChoiceField(InspectionKind.choices)
    sheet = Id(
        required=False,
        allow_null=True,
        help_text="The version that was used; the current one, if left out.",
    )
    started_at = PastInstant()
    completed_at = PastInstant()
    second_person = Id(
        required=False,
        allow_null=True,
        help_text="Member; for every line that needs a second person.",
    )
    occurrence = Id(
        required=False,
        allow_null=True,
        help_text="The occurrence that an unscheduled inspection answers.",
    )
    results = ResultBody(many=True, max_length=1000)  # type: ignore[call-arg]  # of the list


class ResultShape(serializers.Serializer[Any]):
    """One line as it counts."""

    item = serializers.CharField()
    title = serializers.CharField()
    outcome = serializers.ChoiceField(Outcome.choices)
    measurement = Quantity(allow_null=True)
    remark = serializers.CharField(allow_blank=True)
    second_person = serializers.UUIDField(allow_null=True)
    defect = serializers.UUIDField(allow_null=True)


class InspectionShape(serializers.Serializer[Any]):
    """An inspection record."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    kind = serializers.ChoiceField(InspectionKind.choices)
    sheet = serializers.UUIDField()
    sheet_version = serializers.IntegerField()
    inspected_by = MemberShape()
    second_person = serializers.UUIDField(allow_null=True)
    started_at = serializers.DateTimeField()
    completed_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    occurrence = serializers.UUIDField(allow_null=True)
    complete = serializers.BooleanField()
    missing = serializers.ListField(child=serializers.CharField())
    defects = serializers.ListField(child=serializers.UUIDField())


class OneInspectionShape(InspectionShape):
    """An inspection record with its results."""

    results = ResultShape(many=True)


class RecordedShape(OneInspectionShape):
    """A stored inspection with the verdict as committed."""

    airworthiness = AirworthinessShape()


class OccurrenceBody(serializers.Serializer[Any]):
    """An occurrence."""

    id = ClientId()
    aircraft = Id()
    kind = serializers.ChoiceField(OccurrenceKind.choices)
    occurred_at = PastInstant()
    description = Text(max_length=4000)


class OccurrenceShape(serializers.Serializer[Any]):
    """An occurrence."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    kind = serializers.ChoiceField(OccurrenceKind.choices)
    occurred_at = serializers.DateTimeField()
    description = serializers.CharField()
    reported_by = MemberShape()
    reported_at = serializers.DateTimeField()
    report_due_at = serializers.DateTimeField(help_text="Deadline for telling the authority, if it is reportable.")
    answered_by = serializers.UUIDField(allow_null=True, help_text="The unscheduled inspection.")


class OccurrenceReportedShape(OccurrenceShape):
    """An occurrence with the verdict as committed."""

    airworthiness = AirworthinessShape()


class RiggingBody(serializers.Serializer[Any]):
    """A rigging event."""

    id = ClientId()
    aircraft = Id()
    kind = serializers.ChoiceField(RiggingEvent.Kind.choices)
    occurred_at = PastInstant()


class RiggingShape(serializers.Serializer[Any]):
    """A rigging event."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    kind = serializers.ChoiceField(RiggingEvent.Kind.choices)
    occurred_at = serializers.DateTimeField()
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


class RiggingRecordedShape(RiggingShape):
    """A rigging event with the verdict as committed."""

    airworthiness = AirworthinessShape()
