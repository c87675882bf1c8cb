"""Inspection records with their results, rigging events and occurrences. All of them are only ever added to."""

import uuid

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from defects.models import Defect
from fleet.models import Aircraft, Attachment, Membership
from fleet.models.guard import append_only
from inspections.models.sheets import InspectionKind, Sheet, SheetLine


class OccurrenceKind(models.TextChoices):
    """What calls for an unscheduled inspection."""

    HEAVY_LANDING = "heavy_landing"
    GROUND_LOOP = "ground_loop"
    OVERSPEED = "overspeed"
    OVER_G = "over_g"
    LIGHTNING = "lightning"
    BIRD_STRIKE = "bird_strike"
    WIRE_OR_VEHICLE_CONTACT = "wire_or_vehicle_contact"
    FLOODING = "flooding"
    HAIL = "hail"
    OTHER = "other"


class Occurrence(models.Model):
    """Something happened; the aircraft stays on the ground until an inspector's unscheduled inspection answers it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="occurrences")
    kind = models.CharField(max_length=30, choices=OccurrenceKind.choices)
    occurred_at = models.DateTimeField()
    description = models.TextField()
    reported_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    reported_at = models.DateTimeField()
    report_due_at = models.DateTimeField(
        help_text="deadline for telling the authority, if the occurrence is reportable"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="occurrence_kind_known",
                condition=Q(kind__in=OccurrenceKind.values),
            ),
            models.CheckConstraint(name="occurrence_described", condition=Q(description__regex=r"\S")),
        ]
        indexes = [
            models.Index(name="occurrence_of_aircraft", fields=["aircraft", "occurred_at"]),
            models.Index(name="occurrence_keyset", fields=["reported_at", "id"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.kind} {self.occurred_at}"


class RiggingEvent(models.Model):
    """The aircraft was rigged or derigged."""

    class Kind(models.TextChoices):
        """Which of the two."""

        RIGGED = "rigged"
        DERIGGED = "derigged"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="rigging_events")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    occurred_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(name="rigging_kind_known", condition=Q(kind__in=["rigged", "derigged"]))]
        indexes = [
            models.Index(name="rigging_of_aircraft", fields=["aircraft", "occurred_at"]),
            models.Index(name="rigging_keyset", fields=["recorded_at", "id"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.kind} {self.occurred_at}"


class Inspection(models.Model):
    """One person's record against one version of a sheet. Incomplete ones are kept and clear nothing."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="inspections")
    kind = models.CharField(max_length=16, choices=InspectionKind.choices)
    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="inspections")
    occurrence = models.ForeignKey(Occurrence, on_delete=models.PROTECT, null=True, related_name="inspections")
    inspected_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    second_person = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")
    started_at = models.DateTimeField()
    completed_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    complete = models.BooleanField()
    missing = ArrayField(
        models.CharField(max_length=60),
        default=list,
        help_text="codes of what is missing",
    )
    ballast_known = models.BooleanField(null=True, help_text="none: the sheet has no ballast line")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="inspection_kind_known",
                condition=Q(kind__in=InspectionKind.values),
            ),
            models.CheckConstraint(
                name="inspection_ordered",
                condition=Q(completed_at__gte=F("started_at")),
            ),
            models.CheckConstraint(
                name="inspection_complete_misses_nothing",
                condition=Q(complete=True, missing__len=0) | Q(complete=False, missing__len__gt=0),
            ),
            models.CheckConstraint(
                name="inspection_second_is_another",
                condition=Q(complete=False) | Q(second_person=None) | ~Q(second_person=F("inspected_by")),
            ),
            models.CheckConstraint(
                name="inspection_after_rigging_needs_two",
                condition=Q(complete=False) | ~Q(kind="after_rigging") | Q(second_person__isnull=False),
            ),
            models.CheckConstraint(
                name="inspection_occurrence_unscheduled",
                condition=Q(occurrence=None) | Q(kind="unscheduled"),
            ),
        ]
        indexes = [
            models.Index(
                name="inspection_of_aircraft",
                fields=["aircraft", "kind", "completed_at"],
            ),
            models.Index(
                name="inspection_told_ballast",
                fields=["aircraft", "completed_at"],
                condition=Q(kind="daily", ballast_known__isnull=False),
            ),
            models.Index(name="inspection_keyset", fields=["recorded_at", "id"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.kind} {self.completed_at}"


class Outcome(models.TextChoices):
    """What was found at a line."""

    SATISFACTORY = "satisfactory"
    DEFECT = "defect"
    NOT_APPLICABLE = "not_applicable"
    NOT_CHECKED = "not_checked"


class InspectionResult(models.Model):
    """The outcome of one line. A value outside its limits is a defect whatever was sent."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="results")
    line = models.ForeignKey(SheetLine, on_delete=models.PROTECT, related_name="results")
    outcome = models.CharField(max_length=16, choices=Outcome.choices)
    value = models.DecimalField(max_digits=12, decimal_places=4, null=True, help_text="in the unit of the line")
    sent_value = models.DecimalField(max_digits=16, decimal_places=6, null=True)
    sent_unit = models.CharField(max_length=20, blank=True)
    remark = models.TextField(blank=True)
    second_person = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")
    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, null=True, related_name="inspection_results")

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_result_a_line", fields=["inspection", "line"]),
            models.CheckConstraint(name="result_outcome_known", condition=Q(outcome__in=Outcome.values)),
            models.CheckConstraint(
                name="result_defect_pair",
                condition=Q(outcome="defect", defect__isnull=False) | (~Q(outcome="defect") & Q(defect=None)),
            ),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.line_id}: {self.outcome}"


class InspectionAttachment(models.Model):
    """A photo or paper of an inspection."""

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="attachment_links")
    attachment = models.OneToOneField(Attachment, on_delete=models.PROTECT, related_name="inspection_link")

    class Meta:
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.attachment_id} of {self.inspection_id}"
