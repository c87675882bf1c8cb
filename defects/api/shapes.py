"""What the API reads and answers about defects."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from defects.lifecycle import ACTS, State
from defects.models import (
    AssessmentCode,
    DamageKind,
    FoundDuring,
    IndependentInspection,
)
from fleet.api.fields import (
    CivilDate,
    ClientId,
    Flag,
    Id,
    ItemCode,
    Number,
    PastInstant,
    Text,
    Whole,
)
from fleet.api.verdicts import AirworthinessShape, MemberShape


class ReportBody(serializers.Serializer[Any]):
    """A defect as it is reported."""

    id = ClientId()
    aircraft = Id()
    item = ItemCode(
        required=False,
        allow_null=True,
        help_text="Leave it out if you do not know which.",
    )
    description = Text(max_length=4000)
    damage_kind = serializers.ChoiceField(DamageKind.choices, required=False)
    size_mm = Number(max_digits=8, decimal_places=1, min_value=0, required=False, allow_null=True)
    position = Text(max_length=200, required=False, allow_blank=True)
    found_at = PastInstant()
    found_during = serializers.ChoiceField(FoundDuring.choices, default=FoundDuring.OTHER)
    occurrence = Flag(
        default=False,
        help_text="You hold it reportable to the authority: its deadline is watched.",
    )
    follows = Id(
        required=False,
        allow_null=True,
        help_text="A closed defect of this aircraft that this one takes up again.",
    )


class TriageBody(serializers.Serializer[Any]):
    """An assessment."""

    assessment = serializers.ChoiceField(AssessmentCode.choices)
    justification = Text(max_length=4000)
    item = ItemCode(required=False, allow_null=True, help_text="Classifies the defect, or moves it.")
    severity = serializers.ChoiceField(list("ABCDE"), required=False, allow_null=True)
    likelihood = Whole(min_value=1, max_value=5, required=False, allow_null=True)
    reportable = Flag(required=False, allow_null=True)


class DeferBody(serializers.Serializer[Any]):
    """A deferral: at least one limit."""

    until_date = CivilDate(required=False, allow_null=True, help_text="Last day covered.")
    until_minutes = Whole(min_value=1, required=False, allow_null=True, help_text="Total of the airframe.")
    until_launches = Whole(min_value=1, required=False, allow_null=True, help_text="Total of the airframe.")
    limitations = serializers.ListField(child=Text(max_length=500), min_length=1, max_length=20)
    basis = Text(max_length=1000)
    justification = Text(max_length=4000)


class WithdrawBody(serializers.Serializer[Any]):
    """Why a deferral ends before its limit."""

    justification = Text(max_length=4000)


class PartBody(serializers.Serializer[Any]):
    """A part that was fitted."""

    name = Text(max_length=200)
    part_number = Text(max_length=80, required=False, allow_blank=True)
    serial_number = Text(max_length=80, required=False, allow_blank=True)
    release_document = Text(max_length=120, required=False, allow_blank=True)
    number = Whole(min_value=1, max_value=10000, required=False)


@extend_schema_field(
    {
        "oneOf": [
            {"type": "string", "minLength": 1, "maxLength": 200},
            {
                "type": "object",
                "required": ["name"],
                "properties": {
                    **{
                        name: {"type": "string"}
                        for name in ("name", "part_number", "serial_number", "release_document")
                    },
                    "number": {"type": "integer", "minimum": 1, "maximum": 10000},
                },
            },
        ]
    }
)
class PartField(serializers.Field[Any, Any, Any, Any]):
    """A part as an object, or only its name."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        """Raises ValidationError."""
        sent = {"name": data} if isinstance(data, str) else data
        part = PartBody(data=sent)
        part.is_valid(raise_exception=True)
        return dict(part.validated_data)

    def to_representation(self, value: Any) -> Any:
        """As stored."""
        return value


class MeasurementBody(serializers.Serializer[Any]):
    """A measured value with the limits of the data used."""

    quantity = Text(max_length=60)
    value = Number()
    unit = Text(max_length=20, help_text="UCUM code.")
    minimum = Number(required=False, allow_null=True)
    maximum = Number(required=False, allow_null=True)


class RectifyBody(serializers.Serializer[Any]):
    """Work done."""

    work_done = Text(max_length=8000)
    data_used = Text(max_length=1000, help_text="Maintenance data with its issue.")
    performed_by = Id(required=False, allow_null=True, help_text="Member; you, if left out.")
    supervised_by = Id(
        required=False,
        allow_null=True,
        help_text="Inspector who answers for work by somebody else.",
    )
    performed_at = PastInstant()
    parts = serializers.ListField(child=PartField(), required=False, max_length=100)
    measurements = MeasurementBody(many=True, required=False)


class IndependentInspectionBody(serializers.Serializer[Any]):
    """A second person's verdict on the work."""

    outcome = serializers.ChoiceField(IndependentInspection.Outcome.choices)
    remark = Text(max_length=4000)


class ReleaseBody(serializers.Serializer[Any]):
    """A signature."""

    password = Text(max_length=1000, trim_whitespace=False, help_text="Yours, again.")
    statement_accepted = Flag()
    references = Text(max_length=1000, required=False, allow_blank=True)


class DeferralShape(serializers.Serializer[Any]):
    """The latest deferral."""

    id = serializers.UUIDField()
    until_date = serializers.DateField(allow_null=True)
    until_minutes = serializers.IntegerField(allow_null=True)
    until_launches = serializers.IntegerField(allow_null=True)
    limitations = serializers.ListField(child=serializers.CharField())
    basis = serializers.CharField()
    justification = serializers.CharField()
    first_identified_at = serializers.DateTimeField()
    deferred_by = MemberShape()
    deferred_at = serializers.DateTimeField()
    ended = serializers.CharField(
        allow_null=True,
        help_text="withdrawn, expired or rectified; null while it runs.",
    )
    ended_at = serializers.DateTimeField(allow_null=True)


class CheckShape(serializers.Serializer[Any]):
    """The independent inspection of the latest work."""

    outcome = serializers.CharField()
    remark = serializers.CharField()
    inspected_by = MemberShape()
    inspected_at = serializers.DateTimeField()


class RectificationShape(serializers.Serializer[Any]):
    """The latest work."""

    id = serializers.UUIDField()
    work_done = serializers.CharField()
    data_used = serializers.CharField()
    parts = serializers.ListField()
    measurements = serializers.ListField()
    performed_by = MemberShape()
    performed_at = serializers.DateTimeField()
    supervised_by = MemberShape()
    independent_inspection = CheckShape(allow_null=True)


class ReleaseShape(serializers.Serializer[Any]):
    """The signed statement and its record's hash."""

    id = serializers.UUIDField()
    statement = serializers.CharField()
    printed_name = serializers.CharField()
    licence_number = serializers.CharField()
    released_at = serializers.DateTimeField()
    references = serializers.CharField()
    record = serializers.CharField(help_text="The canonical text that the hash is over.")
    record_hash = serializers.CharField(help_text="SHA-256 in hexadecimal.")


class DefectShape(serializers.Serializer[Any]):
    """A defect."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    number = serializers.IntegerField(help_text="Running number on this aircraft.")
    item = serializers.CharField(allow_null=True)
    item_title = serializers.CharField(allow_null=True)
    critical = serializers.BooleanField(help_text="An unknown item counts as critical.")
    description = serializers.CharField()
    damage_kind = serializers.CharField(allow_null=True)
    size_mm = serializers.FloatField(allow_null=True)
    position = serializers.CharField(allow_blank=True)
    found_at = serializers.DateTimeField()
    found_during = serializers.ChoiceField(FoundDuring.choices)
    reported_by = MemberShape()
    reported_at = serializers.DateTimeField()
    follows = serializers.UUIDField(allow_null=True)
    state = serializers.ChoiceField([state.value for state in State])
    assessment = serializers.CharField(allow_null=True)
    assessed_at = serializers.DateTimeField(allow_null=True)
    severity = serializers.CharField(allow_null=True)
    likelihood = serializers.IntegerField(allow_null=True)
    risk = serializers.CharField(allow_null=True, help_text="Region of the risk matrix.")
    report_due_at = serializers.DateTimeField(allow_null=True)
    deferral = DeferralShape(allow_null=True)
    rectification = RectificationShape(allow_null=True)
    release = ReleaseShape(allow_null=True)


class OneDefectShape(DefectShape):
    """A defect, and the acts that the caller may take now."""

    allowed_acts = serializers.ListField(child=serializers.ChoiceField([act.code for act in ACTS]))


class ActedShape(OneDefectShape):
    """A defect after an act, with the verdict on its aircraft as committed."""

    airworthiness = AirworthinessShape()


class ReleasedShape(ActedShape):
    """A released defect with the signed statement at hand."""

    statement = serializers.CharField()
    record_hash = serializers.CharField()
