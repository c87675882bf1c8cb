"""A defect: what was found, and where it stands. What was done to it are the append-only acts beside it."""

import uuid

from django.db import models
from django.db.models import Q

from defects.lifecycle import OPEN_STATES, State
from fleet.models import Aircraft, Attachment, Item, Membership
from fleet.models.guard import append_only


class DamageKind(models.TextChoices):
    """Kinds of damage."""

    CRACK = "crack"
    DELAMINATION = "delamination"
    DISBOND = "disbond"
    DEFORMATION = "deformation"
    SCRATCH = "scratch"
    DENT = "dent"
    CORROSION = "corrosion"
    WEAR = "wear"
    EXCESSIVE_PLAY = "excessive_play"
    LEAK = "leak"
    BLOCKAGE = "blockage"
    MISSING_PART = "missing_part"
    INSECURE = "insecure"
    MALFUNCTION = "malfunction"
    OTHER = "other"


class FoundDuring(models.TextChoices):
    """When a defect was found."""

    WALKAROUND = "walkaround"
    FLIGHT = "flight"
    MAINTENANCE = "maintenance"
    OTHER = "other"


class AssessmentCode(models.TextChoices):
    """What triage may find."""

    HAZARD = "hazard"
    NO_HAZARD = "no_hazard"
    NO_DEFECT = "no_defect"


# severity and likelihood together, or neither; NULL would pass a range
RISK_CELL = Q(severity="", likelihood=None) | Q(
    severity__in=list("ABCDE"), likelihood__isnull=False, likelihood__range=(1, 5)
)
STATE_CHOICES = [(state.value, state.value.replace("_", " ")) for state in State]


class Defect(models.Model):
    """Something found wrong on an aircraft. Only its acts move it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="defects")
    number = models.PositiveIntegerField(help_text="running number on this aircraft")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, related_name="defects")
    description = models.TextField()
    damage_kind = models.CharField(max_length=20, choices=DamageKind.choices, blank=True)
    size_mm = models.DecimalField(max_digits=8, decimal_places=1, null=True)
    position = models.CharField(max_length=200, blank=True)
    found_at = models.DateTimeField()
    found_during = models.CharField(max_length=12, choices=FoundDuring.choices)
    reported_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    reported_at = models.DateTimeField()
    follows = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="followed_by")
    state = models.CharField(max_length=12, choices=STATE_CHOICES, default=State.REPORTED.value)
    assessment = models.CharField(max_length=12, choices=AssessmentCode.choices, blank=True)
    assessed_at = models.DateTimeField(null=True, help_text="first assessment: the decision limit counts from here")
    severity = models.CharField(max_length=1, blank=True)
    likelihood = models.PositiveSmallIntegerField(null=True)
    touched_critical_at = models.DateTimeField(
        null=True,
        help_text="when it was first known to touch a critical or an unknown item; cancels a daily inspection",
    )
    report_due_at = models.DateTimeField(null=True, help_text="deadline of the occurrence report; none: not reportable")
    deferral = models.ForeignKey(
        "defects.Deferral",
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="the latest",
    )
    rectification = models.ForeignKey(
        "defects.Rectification",
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="the latest",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_defect_number_an_aircraft", fields=["aircraft", "number"]),
            models.CheckConstraint(
                name="defect_state_known",
                condition=Q(state__in=[s.value for s in State]),
            ),
            models.CheckConstraint(name="defect_described", condition=Q(description__regex=r"\S")),
            models.CheckConstraint(
                name="defect_damage_kind",
                condition=Q(damage_kind="") | Q(damage_kind__in=DamageKind.values),
            ),
            models.CheckConstraint(
                name="defect_found_during",
                condition=Q(found_during__in=FoundDuring.values),
            ),
            models.CheckConstraint(name="defect_size", condition=Q(size_mm=None) | Q(size_mm__gte=0)),
            models.CheckConstraint(
                name="defect_assessment_pair",
                condition=Q(assessment="", assessed_at=None)
                | (Q(assessment__in=AssessmentCode.values) & Q(assessed_at__isnull=False)),
            ),
            models.CheckConstraint(
                name="defect_state_has_assessment",
                condition=Q(state=State.REPORTED.value, assessment="")
                | (~Q(state=State.REPORTED.value) & ~Q(assessment="")),
            ),
            models.CheckConstraint(
                name="defect_no_defect_pair",
                condition=Q(state=State.NO_DEFECT.value, assessment="no_defect")
                | (~Q(state=State.NO_DEFECT.value) & ~Q(assessment="no_defect")),
            ),
            models.CheckConstraint(
                name="defect_deferred_is_no_hazard",
                condition=~Q(state=State.DEFERRED.value)
                | Q(assessment="no_hazard", item__isnull=False, deferral__isnull=False),
            ),
            models.CheckConstraint(
                name="defect_worked_has_rectification",
                condition=~Q(state__in=[State.RECTIFIED.value, State.RELEASED.value]) | Q(rectification__isnull=False),
            ),
            models.CheckConstraint(
                name="defect_released_is_classified",
                condition=~Q(state=State.RELEASED.value) | Q(item__isnull=False),
            ),
            models.CheckConstraint(name="defect_risk_cell", condition=RISK_CELL),
        ]
        indexes = [
            models.Index(
                name="defect_open",
                fields=["aircraft"],
                condition=Q(state__in=[s.value for s in OPEN_STATES]),
            ),
            models.Index(name="defect_aircraft_item", fields=["aircraft", "item", "found_at"]),
            models.Index(name="defect_critical", fields=["aircraft", "touched_critical_at"]),
            models.Index(name="defect_keyset", fields=["reported_at", "id"]),
        ]

    def __str__(self) -> str:
        return f"{self.aircraft_id} no. {self.number}: {self.state}"


class DefectAttachment(models.Model):
    """A photo or paper of a defect."""

    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="attachment_links")
    attachment = models.OneToOneField(Attachment, on_delete=models.PROTECT, related_name="defect_link")

    class Meta:
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.attachment_id} of {self.defect_id}"
