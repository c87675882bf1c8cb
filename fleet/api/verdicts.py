"""The verdict on an aircraft as every answer to an act shows it."""

from typing import Any

from rest_framework import serializers

from fleet.airworthiness.rules import RULES
from fleet.airworthiness.verdict import Effect, Status, Verdict, as_json


class SubjectShape(serializers.Serializer[Any]):
    """What a reason is about."""

    type = serializers.CharField()
    id = serializers.CharField()


class ReasonShape(serializers.Serializer[Any]):
    """One thing that a rule found."""

    rule = serializers.ChoiceField([rule.code for rule in RULES])
    effect = serializers.ChoiceField([effect.code for effect in Effect])
    message = serializers.CharField(help_text="A plain sentence.")
    citation = serializers.CharField()
    subject = SubjectShape()
    cure = serializers.CharField(help_text="What would clear it.")


class AirworthinessShape(serializers.Serializer[Any]):
    """The rules layer's answer as committed. It records and computes; it is no permission to fly."""

    status = serializers.ChoiceField([status.code for status in Status])
    ready_today = serializers.BooleanField()
    reasons = ReasonShape(many=True)
    limitations = serializers.ListField(child=serializers.CharField())


def shown_verdict(verdict: Verdict) -> dict[str, Any]:
    """The verdict in JSON types."""
    return {
        "status": verdict.status.code,
        "ready_today": verdict.ready_today,
        "reasons": [as_json(reason) for reason in verdict.reasons],
        "limitations": list(verdict.limitations),
    }


def shown_member(member: Any) -> dict[str, Any]:
    """Who did something: id and name."""
    return {"id": member.id, "name": member.person.full_name}


class MemberShape(serializers.Serializer[Any]):
    """Who did something."""

    id = serializers.UUIDField()
    name = serializers.CharField()
