"""How components are sent and shown."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from fleet.api.fields import CivilDate, ClientId, Flag, Id, PastInstant, Text
from fleet.api.lives import KnownAmountsBody, KnownAmountsShape, LifeShape
from fleet.api.verdicts import AirworthinessShape, MemberShape
from fleet.models import Component

BROUGHT = "What it had run when it came, before its first installation here."
NO_AIRCRAFT = "null: it is in no aircraft."


class ChangeComponentBody(serializers.Serializer[Any]):
    """What of a component may be corrected or declared. The record keeps what was said before."""

    release_document = Text(max_length=120, allow_blank=True, help_text="Form 1 or equivalent.")
    manufactured_on = CivilDate(allow_null=True)
    history_known = Flag()
    brought_forward = KnownAmountsBody(help_text=f"{BROUGHT} Dimensions that are left out stay.")
    condition = serializers.ChoiceField(Component.Condition.choices, help_text="Declared by an inspector.")
    reason = Text(help_text="Why it is in this condition.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """A condition is never declared without a reason."""
        for name, other in (("condition", "reason"), ("reason", "condition")):
            if name in attrs and other not in attrs:
                raise serializers.ValidationError({other: [ErrorDetail("Give both.", code="required")]})
        return attrs


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A new tow release",
            request_only=True,
            value={
                "kind": "0d0a8c5e-5b0b-4d38-9e6b-0b8a2f6e7a01",
                "serial_number": "R-2071",
                "manufactured_on": "2026-01-19",
                "release_document": "Form 1 no. 118-26",
                "brought_forward": {"airframe_minutes": 0, "launches": 0, "landings": 0},
            },
        )
    ]
)
class ComponentBody(serializers.Serializer[Any]):
    """A new component. Without known history it is unserviceable."""

    id = ClientId()
    kind = Id()
    serial_number = Text(max_length=60)
    manufactured_on = CivilDate(allow_null=True, default=None)
    release_document = Text(max_length=120, allow_blank=True, default="", help_text="Form 1 or equivalent.")
    history_known = Flag(required=False, help_text="Left out: known if any amount is.")
    brought_forward = KnownAmountsBody(required=False, help_text=BROUGHT)


class PositionedShape(serializers.Serializer[Any]):
    """A position, in short."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    title = serializers.CharField()


class InstallationShape(serializers.Serializer[Any]):
    """A component in a place, with the meter of the place as the records showed it when it was written."""

    id = serializers.UUIDField()
    position = PositionedShape()
    aircraft = serializers.UUIDField(allow_null=True)
    registration = serializers.CharField(allow_null=True)
    parent = serializers.UUIDField(allow_null=True, help_text="The component that it sits in.")  # type: ignore[assignment]  # a field, taken off by the framework
    parent_serial_number = serializers.CharField(allow_null=True)
    installed_at = serializers.DateTimeField()
    installed_by = MemberShape()
    meter_in = KnownAmountsShape()
    removed_at = serializers.DateTimeField(allow_null=True)
    removed_by = MemberShape(allow_null=True)
    meter_out = KnownAmountsShape(allow_null=True)
    removal_reason = serializers.CharField(allow_blank=True)


class ComponentShape(LifeShape):
    """A component, what it has run, and where it is now."""

    id = serializers.UUIDField()
    kind = serializers.UUIDField()
    designation = serializers.CharField()
    part_number = serializers.CharField()
    serial_number = serializers.CharField()
    manufactured_on = serializers.DateField(allow_null=True)
    release_document = serializers.CharField(allow_blank=True)
    condition = serializers.ChoiceField(Component.Condition.choices)
    condition_reason = serializers.CharField(allow_blank=True)
    history_known = serializers.BooleanField()
    brought_forward = KnownAmountsShape(help_text=BROUGHT)
    installed = InstallationShape(allow_null=True, help_text="Where it is now; null: nowhere.")
    aircraft = serializers.UUIDField(allow_null=True, help_text="In which it is now, also inside other components.")
    registration = serializers.CharField(allow_null=True)
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


class ComponentChangedShape(ComponentShape):
    """A component after an act, with the verdict on the aircraft concerned as committed."""

    airworthiness = AirworthinessShape(allow_null=True, help_text="null: no aircraft is concerned.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Into an aircraft",
            request_only=True,
            value={
                "aircraft": "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20",
                "position": "5d8f0a34-9c0e-44a7-8a39-2f6f8a1b7c02",
                "installed_at": "2026-03-02T14:30:00Z",
            },
        )
    ]
)
class InstallBody(serializers.Serializer[Any]):
    """Where and when a component goes in: into an aircraft, or into another component."""

    aircraft = Id(required=False)
    parent = Id(required=False, help_text="A component that has the position.")  # type: ignore[assignment]  # a field, taken off by the framework
    position = Id()
    installed_at = PastInstant()


class RemoveBody(serializers.Serializer[Any]):
    """When and why a component comes out, with whatever is inside it."""

    removed_at = PastInstant()
    reason = Text()
    unserviceable = Flag(default=False, help_text="It is not installed again until an inspector declares otherwise.")


class OverhaulBody(serializers.Serializer[Any]):
    """An overhaul of a component that is not installed."""

    id = ClientId()
    done_on = CivilDate()
    release_document = Text(max_length=120, help_text="Form 1 or equivalent.")
    brought_forward = KnownAmountsBody(
        required=False,
        help_text="What it had run since this overhaul when it came. Left out: nothing, it came from it.",
    )


class OverhaulShape(serializers.Serializer[Any]):
    """An overhaul."""

    id = serializers.UUIDField()
    component = serializers.UUIDField()
    done_on = serializers.DateField()
    release_document = serializers.CharField()
    totals = KnownAmountsShape(help_text="Since new, as shown when it was recorded.")
    brought_forward = KnownAmountsShape()
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()
