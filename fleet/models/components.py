"""Serialised components that carry their own life from one aircraft to the next."""

import uuid

import pgtrigger
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeBoundary, RangeOperators
from django.db import models
from django.db.models import F, Func, Q

from fleet.models.aircraft import Aircraft
from fleet.models.catalogue import AircraftType
from fleet.models.guard import append_only, never_emptied
from fleet.models.people import Club, Membership
from fleet.models.usage import DIMENSIONS, Amounts


class ComponentKind(models.Model):
    """A part number: everything with it is interchangeable."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="component_kinds")
    designation = models.CharField(max_length=80)
    part_number = models.CharField(max_length=60)
    manufacturer = models.CharField(max_length=80, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(name="one_part_number_a_club", fields=["club", "part_number"])]

    def __str__(self) -> str:
        return f"{self.designation} {self.part_number}"


class Position(models.Model):
    """A place for a component, on every aircraft of a type or on every component of a kind."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft_type = models.ForeignKey(AircraftType, on_delete=models.PROTECT, null=True, related_name="positions")
    parent_kind = models.ForeignKey(ComponentKind, on_delete=models.PROTECT, null=True, related_name="positions")
    code = models.CharField(max_length=60)
    title = models.CharField(max_length=120)
    required = models.BooleanField(help_text="empty, it grounds")
    kinds = models.ManyToManyField(ComponentKind, related_name="fits_at", help_text="what may be installed here")
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="position_on_type_or_kind",
                condition=Q(aircraft_type__isnull=False, parent_kind=None)
                | Q(aircraft_type=None, parent_kind__isnull=False),
            ),
            models.UniqueConstraint(name="one_position_code_a_type", fields=["aircraft_type", "code"]),
            models.UniqueConstraint(name="one_position_code_a_kind", fields=["parent_kind", "code"]),
        ]

    def __str__(self) -> str:
        return self.code


class Component(Amounts):
    """A serialised part. Its amounts are what it had run before its open installation; None is unknown history."""

    class Condition(models.TextChoices):
        """Fit to be installed or not."""

        SERVICEABLE = "serviceable"
        UNSERVICEABLE = "unserviceable"
        RETIRED = "retired"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.ForeignKey(ComponentKind, on_delete=models.PROTECT, related_name="components")
    serial_number = models.CharField(max_length=60)
    history_known = models.BooleanField(help_text="without it the component is unserviceable (ML.A.504)")
    manufactured_on = models.DateField(null=True)
    condition = models.CharField(max_length=14, choices=Condition.choices)
    condition_reason = models.TextField(blank=True)
    release_document = models.CharField(max_length=120, blank=True, help_text="Form 1 or equivalent")
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_serial_number_a_kind", fields=["kind", "serial_number"]),
            models.CheckConstraint(
                name="component_amounts_not_negative", condition=Q(**{f"{name}__gte": 0 for name in DIMENSIONS})
            ),
            models.CheckConstraint(
                name="component_unknown_is_unserviceable", condition=Q(history_known=True) | ~Q(condition="serviceable")
            ),
            models.CheckConstraint(
                name="component_condition_reason", condition=Q(condition="serviceable") | ~Q(condition_reason="")
            ),
        ]

    def __str__(self) -> str:
        return self.serial_number


class Installation(models.Model):
    """A component at a position between two meter readings. The meter is the aircraft, or the component it sits in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="installations")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, related_name="installations")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="installations")
    parent = models.ForeignKey(Component, on_delete=models.PROTECT, null=True, related_name="holds")
    installed_at = models.DateTimeField()
    installed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    meter_in = models.JSONField(help_text="amounts of the meter at installation, by dimension")
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
                condition=Q(removed_at=None, removed_by=None, meter_out=None, removal_reason="")
                | (
                    Q(removed_at__gt=F("installed_at"), removed_by__isnull=False, meter_out__isnull=False)
                    & ~Q(removal_reason="")
                ),
            ),
            *(
                ExclusionConstraint(
                    name=name,
                    expressions=[
                        *((field, RangeOperators.EQUAL) for field in fields),
                        (
                            Func(
                                F("installed_at"),
                                F("removed_at"),
                                RangeBoundary(),
                                function="TSTZRANGE",
                                output_field=DateTimeRangeField(),
                            ),
                            RangeOperators.OVERLAPS,
                        ),
                    ],
                )
                for name, fields in (
                    ("component_in_one_place", ("component",)),
                    ("aircraft_position_holds_one", ("aircraft", "position")),
                    ("component_position_holds_one", ("parent", "position")),
                )
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
                    " (to_jsonb(OLD.*) - ARRAY['removed_at', 'removed_by_id', 'meter_out', 'removal_reason'])"
                    " = (to_jsonb(NEW.*) - ARRAY['removed_at', 'removed_by_id', 'meter_out', 'removal_reason']))"
                ),
            ),
            never_emptied(),
        ]

    def __str__(self) -> str:
        return f"{self.component_id} at {self.position_id}"


class Overhaul(models.Model):
    """An overhaul: time since overhaul counts from these amounts, time since new goes on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="overhauls")
    done_on = models.DateField()
    amounts = models.JSONField(help_text="totals of the component at overhaul, by dimension")
    release_document = models.CharField(max_length=120)
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.component_id} on {self.done_on}"
