"""How programs sign in, and the answers kept for requests that come twice."""

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.people import Club, Membership


class ApiToken(models.Model):
    """A bearer token of one member. Only the SHA-256 digest of its 256 random bits is kept."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="api_tokens")
    name = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True, help_text="SHA-256 of the token, hexadecimal")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True, help_text="to the hour")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="token_expires_after_creation",
                condition=Q(expires_at__gt=F("created_at")),
            ),
            models.CheckConstraint(name="token_named", condition=~Q(name="")),
        ]
        indexes = [models.Index(name="token_keyset", fields=["membership", "created_at", "id"])]

    def __str__(self) -> str:
        return self.name


class IdempotencyRecord(models.Model):
    """The answer to one POST, committed together with what it did.

    With a member: kept under that member's Idempotency-Key. Without: kept under ``id:<uuid>`` for the whole club, because
    the client chose the id of what it created.
    """

    id = models.BigAutoField(primary_key=True)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, related_name="+")
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 over method, path and canonical body")
    status = models.PositiveSmallIntegerField()
    headers = models.JSONField()
    body = models.BinaryField()
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="one_answer_a_key",
                fields=["membership", "key"],
                condition=Q(membership__isnull=False),
            ),
            models.UniqueConstraint(
                name="one_answer_an_id",
                fields=["club", "key"],
                condition=Q(membership=None),
            ),
            models.CheckConstraint(
                name="only_success_is_kept",
                condition=Q(status__gte=200, status__lt=300),
            ),
        ]
        indexes = [
            models.Index(
                name="idempotency_age",
                fields=["created_at"],
                condition=Q(membership__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.key
