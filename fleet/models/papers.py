"""Documents of an aircraft, attachments, notifications and the runs of scheduled jobs."""

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.aircraft import Aircraft
from fleet.models.guard import append_only
from fleet.models.people import Club, Membership


class DocumentKind(models.TextChoices):
    """Kinds of document that an aircraft carries."""

    AIRWORTHINESS_REVIEW_CERTIFICATE = (
        "airworthiness_review_certificate",
        "Airworthiness review certificate",
    )
    INSURANCE = "insurance", "Insurance"
    WEIGHING_REPORT = "weighing_report", "Weighing report"
    RADIO_LICENCE = "radio_licence", "Radio licence"
    NOISE_CERTIFICATE = "noise_certificate", "Noise certificate"
    OTHER = "other", "Other"


class Attachment(models.Model):
    """A verified, re-encoded file outside the web root. The app of its subject links it (defect, inspection, document)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="attachments")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="attachments")
    content_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    width = models.PositiveIntegerField(null=True)
    height = models.PositiveIntegerField(null=True)
    sha256 = models.CharField(max_length=64, help_text="of the stored bytes")
    caption = models.CharField(max_length=200, blank=True)
    uploaded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="attachment_content_type",
                condition=Q(content_type__in=["image/jpeg", "image/png", "application/pdf"]),
            )
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.content_type} {self.id}"


class Document(models.Model):
    """A document with the expiry that is printed on it; a renewed one is a new record."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="documents")
    kind = models.CharField(max_length=40, choices=DocumentKind.choices)
    reference = models.CharField(max_length=80, blank=True)
    issued_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True, help_text="last valid day as printed; blank: it has none")
    attachment = models.ForeignKey(
        Attachment,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="documents",
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    recorded_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(name="document_kind_known", condition=Q(kind__in=DocumentKind.values)),
            models.CheckConstraint(
                name="document_dates_ordered",
                condition=Q(expires_on=None) | Q(expires_on__gte=F("issued_on")),
            ),
        ]
        indexes = [models.Index(name="document_of_aircraft", fields=["aircraft", "kind", "expires_on"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.expires_on}"


class Flag(models.Model):
    """Something a scheduled job noticed; one row a key, so that the job can run as often as it likes."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, related_name="flags")
    kind = models.CharField(max_length=60)
    key = models.CharField(max_length=160, unique=True)
    raised_at = models.DateTimeField()

    class Meta:
        triggers = append_only()

    def __str__(self) -> str:
        return self.key


class Notification(models.Model):
    """A flag for one member; the row is the duty, the e-mail only its messenger."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="notifications")
    recipient = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="notifications")
    aircraft = models.ForeignKey(Aircraft, on_delete=models.PROTECT, null=True, related_name="notifications")
    kind = models.CharField(max_length=60)
    key = models.CharField(
        max_length=160,
        help_text="one notification a key and recipient, however often the job runs",
    )
    message = models.TextField()
    created_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True)
    emailed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(name="one_notification_a_key", fields=["recipient", "key"])]
        indexes = [
            models.Index(name="notification_keyset", fields=["recipient", "created_at", "id"]),
            models.Index(
                name="notification_unsent",
                fields=["created_at"],
                condition=Q(emailed_at=None),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} for {self.recipient_id}"


class JobRun(models.Model):
    """When a scheduled job last ran to its end without error; one that did not shows on /readyz."""

    name = models.CharField(max_length=80, primary_key=True, help_text="name of the task")
    expected_since = models.DateTimeField(help_text="when a worker first knew of it")
    succeeded_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.name
