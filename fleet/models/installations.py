"""Where components are and were, and their overhauls."""

import uuid

import pgtrigger
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeBoundary, RangeOperators
from django.db import models
from django.db.models import F, Func, Q

from fleet.models.aircraft import Aircraft
from fleet.models.components import NOT_NEGATIVE, Component, KnownAmounts, Position
from fleet.models.guard import append_only, never_emptied
from fleet.models.people import Membership

REMOVAL = "ARRAY['removed_at', 'removed_by_id', 'meter_out', 'removal_reason']"


def _one_at_a_time(name: str, message: str, *fields: str) -> ExclusionConstraint:
    """No two installations with the same fields overlap; from installed_at (inclusive) to removed_at (exclusive)."""
    period = Func(
        F("installed_at"),
        F("removed_at"),
        RangeBoundary(),
        function="TSTZRANGE",
        output_field=DateTimeRangeField(),
    )
    return ExclusionConstraint(
        name=name,
        expressions=[*((field, RangeOperators.EQUAL) for field in fields), (period, RangeOperators.OVERLAPS)],
        violation_error_message=message,
    )


class Installation(models.Model):
    """A component at a position between two meter readings. The meter is the aircraft, or the component it sits in.

    The readings are those that the records showed when it was written; lives are counted from the usage entries.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="installations")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, related_name="installations")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="installations")
    parent = models.ForeignKey(Component, on_delete=models.PROTECT, null=True, related_name="holds")
    installed_at = models.DateTimeField()
    installed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    meter_in = models.JSONField(help_text="by dimension; a missing one is unknown")
    removed_at = models.DateTimeField(null=True)
    removed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")
    meter_out = models.JSONField(null=True)
    removal_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="installation_in_aircraft_or_component",
                condition=Q(aircraft__isnull=False, parent=None) | Q(aircraft=None, parent__isnull=False),
            ),
            models.CheckConstraint(
                name="installation_not_in_itself", condition=Q(parent=None) | ~Q(parent=F("component"))
            ),
            models.CheckConstraint(
                name="removal_whole",
                condition=Q(removed_at=None, removed_by=None, meter_out__isnull=True, removal_reason="")
                | (
                    Q(removed_at__isnull=False, removed_at__gt=F("installed_at"), removed_by__isnull=False)
                    & Q(meter_out__isnull=False, removal_reason__regex=r"\S")
                ),
            ),
            _one_at_a_time(
                "component_in_one_place",
                "The component is in another place then. Remove it there first.",
                "component",
            ),
            _one_at_a_time(
                "aircraft_position_holds_one",
                "The position is not empty then. Remove first what is there.",
                "aircraft",
                "position",
            ),
            _one_at_a_time(
                "component_position_holds_one",
                "The position is not empty then. Remove first what is there.",
                "parent",
                "position",
            ),
        ]
        indexes = [
            models.Index(name="installed_in_aircraft", fields=["aircraft"], condition=Q(removed_at=None)),
            models.Index(name="installed_in_component", fields=["parent"], condition=Q(removed_at=None)),
        ]
        triggers = [
            pgtrigger.Protect(name="installation_kept", operation=pgtrigger.Delete),
            pgtrigger.Protect(
                name="installation_only_ended",
                operation=pgtrigger.Update,
                condition=pgtrigger.Condition(
                    "NOT (OLD.removed_at IS NULL AND NEW.removed_at IS NOT NULL AND"
                    f" (to_jsonb(OLD.*) - {REMOVAL}) = (to_jsonb(NEW.*) - {REMOVAL}))"
                ),
            ),
            never_emptied(),
        ]

    def __str__(self) -> str:
        return f"{self.component_id} at {self.position_id}"


class Overhaul(KnownAmounts):
    """An overhaul of a component that was not installed: time since overhaul counts anew, time since new goes on.

    Its amounts are what the component had run since this overhaul when it came here; all 0 for one done since.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="overhauls")
    done_on = models.DateField()
    counts_from = models.DateTimeField(help_text="what is flown after this instant counts since the overhaul")
    totals = models.JSONField(help_text="time since new as shown when it was recorded; a missing dimension is unknown")
    release_document = models.CharField(max_length=120)
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(name="overhaul_amounts_not_negative", condition=NOT_NEGATIVE),
            models.CheckConstraint(name="overhaul_released", condition=Q(release_document__regex=r"\S")),
        ]
        indexes = [models.Index(name="overhaul_latest", fields=["component", "-counts_from"])]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.component_id} on {self.done_on}"
