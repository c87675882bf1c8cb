"""The table of rules by which aircraft are judged."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules import RULES
from fleet.airworthiness.verdict import Effect
from fleet.api.base import ClubView
from fleet.api.club import SettingsShape, settings_of

EFFECTS = [effect.code for effect in Effect]


class RuleShape(serializers.Serializer[Any]):
    """One row of the table."""

    code = serializers.CharField()
    effect = serializers.ChoiceField(EFFECTS, help_text="The worst that it can have.")
    effects = serializers.ListField(child=serializers.ChoiceField(EFFECTS), help_text="All that it can have.")
    title = serializers.CharField()
    citation = serializers.CharField()


class RulesShape(serializers.Serializer[Any]):
    """The table, and the club's settings in force."""

    results = RuleShape(many=True)
    settings = SettingsShape()


def shown(rule: Rule) -> dict[str, Any]:
    """A rule in JSON types."""
    effects = [effect.code for effect in rule.effects]
    return {
        "code": rule.code,
        "effect": effects[0],
        "effects": effects,
        "title": rule.title,
        "citation": rule.citation,
    }


class RulesView(ClubView):
    """The table of rules."""

    answers = {"GET": RulesShape}

    def get(self, request: Request) -> Response:
        """Every rule in the order in which reasons of equal effect are shown, and the club's settings in force."""
        return Response({"results": [shown(rule) for rule in RULES], "settings": settings_of(self.club)})
