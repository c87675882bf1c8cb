"""The board as a plain view set would make it: a model serializer over the aircraft with its stored verdict."""

import os

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.renderers import JSONRenderer
from rest_framework.viewsets import ModelViewSet

from fleet.models import Aircraft, AirworthinessState
from tests.bench.bare import CLUB


class StateSerializer(serializers.ModelSerializer[AirworthinessState]):
    """The stored verdict."""

    class Meta:
        model = AirworthinessState
        fields = ["status", "ready_today", "reasons", "limitations", "open_defects", "next_due"]


class PlainAircraftSerializer(serializers.ModelSerializer[Aircraft]):
    """One aircraft of the board."""

    aircraft_type = serializers.CharField(source="aircraft_type.designation")
    airworthiness = StateSerializer()

    class Meta:
        model = Aircraft
        fields = ["id", "registration", "aircraft_type", "aircraft_type_id", "airworthiness"]


class PlainBoard(ModelViewSet[Aircraft]):
    """Without sign-in, which makes it faster than one that could be used."""

    serializer_class = PlainAircraftSerializer
    authentication_classes: list[type] = []
    permission_classes = [AllowAny]
    renderer_classes = [JSONRenderer]

    def get_queryset(self) -> QuerySet[Aircraft]:
        """The club's aircraft, joined, so that there is one query."""
        fleet = Aircraft.objects.filter(club_id=os.environ[CLUB])
        return fleet.select_related("aircraft_type", "airworthiness").order_by("registration")
