"""Serialised components, their kinds, and the places where they fit."""

import uuid

import pgtrigger
from django.db import models
from django.db.models import Q

from fleet.models.catalogue import AircraftType
from fleet.models.guard import never_emptied
from fleet.models.people import Club, Membership
from fleet.models.usage import DIMENSIONS


class ComponentKind(models.Model):
    """A part number: everything with it is interchangeable."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="component_kinds")
    designation = models.CharField(max_length=80)
    part_number = models.CharField(max_length=60)
    manufacturer = models.CharField(max_length=80, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="one_part_number_a_club",
                fields=["club", "part_number"],
                violation_error_message="Your club has a component kind with this part number. Use that one.",
            )
        ]
        indexes = [models.Index(name="component_kind_keyset", fields=["designation", "id"])]

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
        indexes = [models.Index(name="position_keyset", fields=["code", "id"])]

    def __str__(self) -> str:
        return self.code


class KnownAmounts(models.Model):
    """What was counted in each dimension, minutes or numbers; NULL: not known. Nothing unknown ever counts as nothing."""

    airframe_minutes = models.IntegerField(null=True)
    launches = models.IntegerField(null=True)
    landings = models.IntegerField(null=True)
    engine_minutes = models.IntegerField(null=True)
    engine_starts = models.IntegerField(null=True)
    cycles = models.IntegerField(null=True)

    class Meta:
        abstract = True

    def known_amounts(self) -> dict[str, int]:
        """By dimension; those that are not known are missing."""
        given = {name: getattr(self, name) for name in DIMENSIONS}
        return {name: amount for name, amount in given.items() if amount is not None}


NOT_NEGATIVE = Q(**{f"{name}__gte": 0 for name in DIMENSIONS})


class Component(KnownAmounts):
    """A serialised part. Its amounts are what it had run when it came, before its first installation here."""

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
            models.UniqueConstraint(
                name="one_serial_number_a_kind",
                fields=["kind", "serial_number"],
                violation_error_message="There is a component of this kind with this serial number. Use that one.",
            ),
            models.CheckConstraint(name="component_amounts_not_negative", condition=NOT_NEGATIVE),
            models.CheckConstraint(
                name="component_condition_known", condition=Q(condition__in=["serviceable", "unserviceable", "retired"])
            ),
            models.CheckConstraint(
                name="component_unknown_is_unserviceable", condition=Q(history_known=True) | ~Q(condition="serviceable")
            ),
            models.CheckConstraint(
                name="component_condition_reason",
                condition=Q(condition="serviceable") | Q(condition_reason__regex=r"\S"),
            ),
        ]
        indexes = [models.Index(name="component_keyset", fields=["recorded_at", "id"])]
        triggers = [
            pgtrigger.Protect(name="component_kept", operation=pgtrigger.Delete),
            pgtrigger.ReadOnly(name="component_identity_kept", fields=["id", "kind", "recorded_by", "recorded_at"]),
            never_emptied(),
        ]

    def __str__(self) -> str:
        return self.serial_number
