"""Aircraft, and the verdict that is stored for each."""

import uuid

import pgtrigger
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import (
    ArrayField,
    DateTimeRangeField,
    RangeBoundary,
    RangeOperators,
)
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Func, Q

from fleet.models.catalogue import AircraftType
from fleet.models.guard import never_emptied
from fleet.models.people import Club


class StatusCode(models.TextChoices):
    """Words of the airworthiness status, best first."""

    SERVICEABLE = "serviceable", "Serviceable"
    LIMITED = "limited", "Limited"
    GROUNDED = "grounded", "Grounded"


class Aircraft(models.Model):
    """One aircraft. Its row is the lock that orders everything done to it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="aircraft")
    aircraft_type = models.ForeignKey(AircraftType, on_delete=models.PROTECT, related_name="aircraft")
    registration = models.CharField(max_length=12)
    serial_number = models.CharField(max_length=40)
    base = models.CharField(max_length=80, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_registration_a_club", fields=["club", "registration"]),
            models.UniqueConstraint(
                name="one_serial_number_a_type",
                fields=["aircraft_type", "serial_number"],
            ),
            models.CheckConstraint(
                name="aircraft_registration_form",
                condition=Q(registration__regex=r"^[A-Z0-9]+(-[A-Z0-9]+)?$"),
            ),
        ]

    def __str__(self) -> str:
        return self.registration


class ShownVerdict(models.Model):
    """A verdict as it was shown."""

    status = models.CharField(max_length=12, choices=StatusCode.choices)
    ready_today = models.BooleanField()
    reasons = models.JSONField(encoder=DjangoJSONEncoder)
    limitations = ArrayField(models.TextField(), default=list)
    open_defects = models.PositiveIntegerField()
    next_due = models.JSONField(encoder=DjangoJSONEncoder, null=True)

    class Meta:
        abstract = True


class AirworthinessState(ShownVerdict):
    """The stored verdict of one aircraft; past ``valid_until`` it must be evaluated anew before it is shown."""

    aircraft = models.OneToOneField(
        Aircraft,
        on_delete=models.PROTECT,
        primary_key=True,
        related_name="airworthiness",
    )
    assessed_at = models.DateTimeField()
    shown_from = models.DateTimeField(help_text="begin of the open period, which shows the same")
    valid_until = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.CheckConstraint(name="state_status_known", condition=Q(status__in=StatusCode.values))]
        indexes = [
            models.Index(
                name="state_valid_until",
                fields=["valid_until"],
                condition=Q(valid_until__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.aircraft_id}: {self.status}"


class AssessmentPeriod(ShownVerdict):
    """What was shown for one aircraft from one instant (inclusive) to another (exclusive); open-ended while current."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="assessment_periods")
    shown_from = models.DateTimeField()
    shown_to = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="period_ordered",
                condition=Q(shown_to=None) | Q(shown_to__gt=F("shown_from")),
            ),
            models.CheckConstraint(name="period_status_known", condition=Q(status__in=StatusCode.values)),
            models.UniqueConstraint(name="one_open_period", fields=["aircraft"], condition=Q(shown_to=None)),
            ExclusionConstraint(
                name="periods_never_overlap",
                expressions=[
                    ("aircraft", RangeOperators.EQUAL),
                    (
                        Func(
                            F("shown_from"),
                            F("shown_to"),
                            RangeBoundary(),
                            function="TSTZRANGE",
                            output_field=DateTimeRangeField(),
                        ),
                        RangeOperators.OVERLAPS,
                    ),
                ],
            ),
        ]
        indexes = [models.Index(name="period_keyset", fields=["aircraft", "shown_from"])]
        triggers = [
            pgtrigger.Protect(name="period_kept", operation=pgtrigger.Delete),
            pgtrigger.Protect(
                name="period_only_closed",
                operation=pgtrigger.Update,
                condition=pgtrigger.Condition(
                    "NOT (OLD.shown_to IS NULL AND NEW.shown_to IS NOT NULL"
                    " AND (to_jsonb(OLD.*) - 'shown_to') = (to_jsonb(NEW.*) - 'shown_to'))"
                ),
            ),
            never_emptied(),
        ]

    def __str__(self) -> str:
        return f"{self.aircraft_id}: {self.status} from {self.shown_from}"
