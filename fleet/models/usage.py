"""Usage of an aircraft: append-only entries and their running total."""

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.aircraft import Aircraft
from fleet.models.guard import append_only
from fleet.models.people import Membership

DIMENSIONS = ("airframe_minutes", "launches", "landings", "engine_minutes", "engine_starts", "cycles")
LAUNCH_KINDS = ("winch_launches", "aerotow_launches", "self_launches", "other_launches")


class Amounts(models.Model):
    """What is counted: whole minutes and whole numbers. Negative only in a counter-entry."""

    airframe_minutes = models.IntegerField(default=0)
    launches = models.IntegerField(default=0)
    landings = models.IntegerField(default=0)
    engine_minutes = models.IntegerField(default=0)
    engine_starts = models.IntegerField(default=0)
    cycles = models.IntegerField(default=0)

    class Meta:
        abstract = True

    def amounts(self) -> dict[str, int]:
        """By dimension."""
        return {name: getattr(self, name) for name in DIMENSIONS}


class UsageEntry(Amounts):
    """One line of the usage record: a flight, a day's flying, the opening balance, or the counter-entry to one of them."""

    class Source(models.TextChoices):
        """Where it came from."""

        OPENING = "opening"
        MANUAL = "manual"
        CSV = "csv"
        FLIGHT_RECORDER = "flight_recorder"
        CORRECTION = "correction"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="usage_entries")
    source = models.CharField(max_length=16, choices=Source.choices)
    flown_on = models.DateField(help_text="in the club's zone")
    takeoff_at = models.DateTimeField(null=True)
    landing_at = models.DateTimeField(null=True)
    winch_launches = models.IntegerField(default=0)
    aerotow_launches = models.IntegerField(default=0)
    self_launches = models.IntegerField(default=0)
    other_launches = models.IntegerField(default=0)
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="corrected_by")
    reference = models.CharField(max_length=120, blank=True, help_text="file and place that it was imported from")
    remark = models.TextField(blank=True)
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="usage_signs",
                condition=Q(corrects=None, **{f"{name}__gte": 0 for name in (*DIMENSIONS, *LAUNCH_KINDS)})
                | Q(corrects__isnull=False, **{f"{name}__lte": 0 for name in (*DIMENSIONS, *LAUNCH_KINDS)}),
            ),
            models.CheckConstraint(
                name="usage_correction_pair",
                condition=Q(corrects=None) & ~Q(source="correction") | Q(corrects__isnull=False, source="correction"),
            ),
            models.CheckConstraint(
                name="usage_launches_add_up",
                condition=Q(
                    launches=F("winch_launches") + F("aerotow_launches") + F("self_launches") + F("other_launches")
                ),
            ),
            models.CheckConstraint(
                name="usage_flight_times",
                condition=Q(takeoff_at=None, landing_at=None)
                | Q(takeoff_at__isnull=False, landing_at__isnull=False, landing_at__gt=F("takeoff_at")),
            ),
            models.CheckConstraint(
                name="usage_counts_something",
                condition=Q(source__in=["opening", "correction"]) | ~Q(**dict.fromkeys(DIMENSIONS, 0)),
            ),
        ]
        indexes = [
            models.Index(name="usage_of_aircraft", fields=["aircraft", "flown_on"]),
            models.Index(
                name="usage_flights", fields=["aircraft", "takeoff_at"], condition=Q(takeoff_at__isnull=False)
            ),
            models.Index(name="usage_keyset", fields=["recorded_at", "id"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.flown_on}: {self.airframe_minutes} min"


class UsageTotal(Amounts):
    """The sum of an aircraft's entries, kept under its lock. Without a row nothing is known.

    There is a row only while an opening balance counts: flights alone do not say how much was flown before them.
    """

    aircraft = models.OneToOneField(Aircraft, on_delete=models.PROTECT, primary_key=True, related_name="usage_total")
    recorded_to = models.DateTimeField(
        help_text="up to when usage is recorded: the latest landing or end of a day flown"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="usage_total_never_negative", condition=Q(**{f"{name}__gte": 0 for name in DIMENSIONS})
            )
        ]

    def __str__(self) -> str:
        return f"{self.aircraft_id}: {self.airframe_minutes} min"
