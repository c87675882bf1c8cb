"""What was done to a defect: one append-only record an act."""

import uuid

from django.contrib.postgres.fields import ArrayField
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from defects.models.defect import RISK_CELL, AssessmentCode, Defect
from fleet.models import Authorisation, Item, Membership
from fleet.models.guard import append_only


class Triage(models.Model):
    """An authorised person's assessment of a defect."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="triages")
    assessment = models.CharField(max_length=12, choices=AssessmentCode.choices)
    justification = models.TextField()
    item = models.ForeignKey(
        Item,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="as classified by this triage",
    )
    severity = models.CharField(max_length=1, blank=True)
    likelihood = models.PositiveSmallIntegerField(null=True)
    reportable = models.BooleanField(null=True)
    triaged_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    triaged_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="triage_assessment",
                condition=Q(assessment__in=AssessmentCode.values),
            ),
            models.CheckConstraint(name="triage_justified", condition=Q(justification__regex=r"\S")),
            models.CheckConstraint(name="triage_risk_cell", condition=RISK_CELL),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.defect_id}: {self.assessment}"


class Deferral(models.Model):
    """Permission to fly on with a known defect until the first of its limits."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="deferrals")
    until_date = models.DateField(null=True, help_text="last day covered, in the club's zone")
    until_minutes = models.PositiveIntegerField(null=True, help_text="airframe total, in minutes")
    until_launches = models.PositiveIntegerField(null=True, help_text="launch total")
    limitations = ArrayField(models.TextField())
    basis = models.TextField()
    justification = models.TextField()
    first_identified_at = models.DateTimeField(help_text="when the defect was found; kept when it is carried over")
    deferred_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    deferred_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="deferral_has_limit",
                condition=Q(until_date__isnull=False)
                | Q(until_minutes__isnull=False)
                | Q(until_launches__isnull=False),
            ),
            models.CheckConstraint(name="deferral_has_limitations", condition=Q(limitations__len__gte=1)),
            models.CheckConstraint(
                name="deferral_justified",
                condition=Q(basis__regex=r"\S") & Q(justification__regex=r"\S"),
            ),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.defect_id} until {self.until_date}"


class DeferralEnd(models.Model):
    """How a deferral ended. ``past_limit`` keeps grounding until the defect is deferred anew or rectified."""

    class Kind(models.TextChoices):
        """Ways to end."""

        WITHDRAWN = "withdrawn"
        EXPIRED = "expired"
        RECTIFIED = "rectified"

    deferral = models.OneToOneField(Deferral, on_delete=models.PROTECT, primary_key=True, related_name="end")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    past_limit = models.BooleanField()
    reason = models.TextField(blank=True)
    ended_by = models.ForeignKey(
        Membership,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="none: a scheduled job",
    )
    ended_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="deferral_end_by",
                condition=Q(kind="expired", past_limit=True, ended_by=None)
                | Q(kind__in=["withdrawn", "rectified"], ended_by__isnull=False),
            )
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.deferral_id}: {self.kind}"


class Rectification(models.Model):
    """Work done on a defect."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="rectifications")
    work_done = models.TextField()
    data_used = models.TextField(help_text="the maintenance data, with its issue")
    parts = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    measurements = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    on_critical_item = models.BooleanField(
        help_text="as classified when the work was recorded; unknown counts as critical"
    )
    performed_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    performed_at = models.DateTimeField()
    supervised_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="rectification_described",
                condition=Q(work_done__regex=r"\S") & Q(data_used__regex=r"\S"),
            )
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.defect_id} worked on {self.performed_at}"


class IndependentInspection(models.Model):
    """A second competent person's check of the work; never by somebody who had a hand in it."""

    class Outcome(models.TextChoices):
        """What the check found."""

        ACCEPTED = "accepted"
        REJECTED = "rejected"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    rectification = models.OneToOneField(Rectification, on_delete=models.PROTECT, related_name="independent_inspection")
    outcome = models.CharField(max_length=10, choices=Outcome.choices)
    remark = models.TextField()
    inspected_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    inspected_at = models.DateTimeField()
    worked_by = models.ForeignKey(
        Membership,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="copy, so that the database can tell them apart",
    )
    supervised_by = models.ForeignKey(
        Membership,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="copy, likewise",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="independent_outcome",
                condition=Q(outcome__in=["accepted", "rejected"]),
            ),
            models.CheckConstraint(name="independent_remarked", condition=Q(remark__regex=r"\S")),
            models.CheckConstraint(
                name="independent_of_the_work",
                condition=~Q(inspected_by=F("worked_by")) & ~Q(inspected_by=F("supervised_by")),
            ),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.rectification_id}: {self.outcome}"


class Release(models.Model):
    """The signed statement that closes a defect. ``record`` holds the canonical bytes behind ``record_hash``."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    defect = models.OneToOneField(Defect, on_delete=models.PROTECT, related_name="release")
    rectification = models.OneToOneField(Rectification, on_delete=models.PROTECT, related_name="release")
    authorisation = models.ForeignKey(Authorisation, on_delete=models.PROTECT, related_name="+")
    statement = models.TextField()
    printed_name = models.CharField(max_length=120)
    licence_number = models.CharField(max_length=60)
    references = models.TextField(blank=True)
    released_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField()
    record = models.TextField()
    record_hash = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="release_signed",
                condition=Q(printed_name__regex=r"\S") & Q(licence_number__regex=r"\S"),
            )
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.defect_id} released {self.released_at}"
