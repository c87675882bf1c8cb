"""The append-only event record: one hash chain an aircraft, one a club for what concerns no aircraft."""

import uuid

from django.db import models
from django.db.models import Q

from fleet.models.aircraft import Aircraft
from fleet.models.guard import append_only
from fleet.models.people import Club, Membership


class EventChain(models.Model):
    """Length and head of a chain, locked by whoever appends; lets a verifier notice a chain that was cut."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="event_chains")
    aircraft = models.OneToOneField(Aircraft, on_delete=models.PROTECT, null=True, related_name="event_chain")
    length = models.PositiveBigIntegerField(default=0)
    head = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_club_chain", fields=["club"], condition=Q(aircraft=None)),
        ]

    def __str__(self) -> str:
        return f"{self.id}: {self.length}"


class Event(models.Model):
    """One line of the record. ``canonical`` holds the very bytes that were hashed (jsonb would lose key order)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="events")
    chain = models.ForeignKey(EventChain, on_delete=models.PROTECT, related_name="events")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="events")
    sequence = models.PositiveBigIntegerField(help_text="1, 2, 3 ... within its chain")
    kind = models.CharField(max_length=60)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(
        Membership,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="none: a scheduled job",
    )
    subject_type = models.CharField(max_length=40)
    subject_id = models.UUIDField()
    canonical = models.TextField()
    previous_hash = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(name="event_place_in_chain", fields=["chain", "sequence"]),
            models.CheckConstraint(name="event_sequence_from_one", condition=Q(sequence__gte=1)),
        ]
        indexes = [
            models.Index(name="event_club_time", fields=["club", "recorded_at", "id"]),
            models.Index(name="event_aircraft_time", fields=["aircraft", "recorded_at", "id"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.kind} {self.sequence}"
