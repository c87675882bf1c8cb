"""Clubs, persons, memberships and inspectors' authorisations."""

import uuid

from django.contrib.auth.models import AbstractUser
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from fleet.airworthiness.facts import ClubPolicy


class Role(models.TextChoices):
    """What a member does in the club; a member can hold several."""

    PILOT = "pilot", "Pilot"
    TECHNICAL_OFFICER = "technical_officer", "Technical officer"
    INSPECTOR = "inspector", "Inspector"
    AUDITOR = "auditor", "Auditor"
    ADMINISTRATOR = "administrator", "Club administrator"


def default_required_documents() -> list[str]:
    """Without these no aircraft of a new club shows as fit."""
    return ["airworthiness_review_certificate", "insurance"]


class Club(models.Model):
    """A flying club and its settings. Everything else belongs to exactly one club."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120, unique=True)
    time_zone = models.CharField(
        max_length=64,
        default="UTC",
        help_text="IANA name; a flying day is a date in this zone",
    )
    triage_limit_days = models.PositiveSmallIntegerField(default=3)
    decision_limit_days = models.PositiveSmallIntegerField(default=7)
    repeat_count = models.PositiveSmallIntegerField(default=3)
    repeat_within_days = models.PositiveSmallIntegerField(default=30)
    repeat_within_flights = models.PositiveSmallIntegerField(default=15)
    document_notice_days = models.PositiveSmallIntegerField(default=30)
    required_documents = ArrayField(models.CharField(max_length=40), default=default_required_documents, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="club_triage_limit", condition=Q(triage_limit_days__range=(1, 30))),
            models.CheckConstraint(
                name="club_decision_limit",
                condition=Q(decision_limit_days__range=(1, 60)),
            ),
            models.CheckConstraint(name="club_repeat_count", condition=Q(repeat_count__range=(2, 20))),
            models.CheckConstraint(name="club_repeat_days", condition=Q(repeat_within_days__range=(1, 366))),
            models.CheckConstraint(
                name="club_repeat_flights",
                condition=Q(repeat_within_flights__range=(1, 1000)),
            ),
            models.CheckConstraint(
                name="club_document_notice",
                condition=Q(document_notice_days__range=(0, 180)),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def policy(self) -> ClubPolicy:
        """The settings as the rules read them."""
        return ClubPolicy(
            time_zone=self.time_zone,
            triage_limit_days=self.triage_limit_days,
            decision_limit_days=self.decision_limit_days,
            repeat_count=self.repeat_count,
            repeat_within_days=self.repeat_within_days,
            repeat_within_flights=self.repeat_within_flights,
            document_notice_days=self.document_notice_days,
            required_documents=tuple(self.required_documents),
        )


class Person(AbstractUser):
    """Somebody who can sign in. What they may do follows from their memberships alone."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    full_name = models.CharField(max_length=120)

    class Meta(AbstractUser.Meta):
        constraints = [models.CheckConstraint(name="person_has_full_name", condition=Q(full_name__regex=r"\S"))]

    def __str__(self) -> str:
        return self.full_name


class Membership(models.Model):
    """A person in a club with roles. Its id is the member id of the API."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    roles = ArrayField(models.CharField(max_length=20, choices=Role.choices))
    active = models.BooleanField(default=True)
    joined_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_membership_a_club", fields=["club", "person"]),
            models.CheckConstraint(
                name="membership_roles_known",
                condition=Q(roles__contained_by=list(Role.values)) & Q(roles__len__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person.full_name} ({self.club.name})"

    def holds(self, *roles: str) -> bool:
        """Whether the member holds at least one of the roles."""
        return bool(set(roles) & set(self.roles))


class Privilege(models.TextChoices):
    """What an authorisation permits."""

    RELEASE = "release", "Release to service"
    INDEPENDENT_INSPECTION = "independent_inspection", "Independent inspection"


class AircraftCategory(models.TextChoices):
    """Category of an aircraft type."""

    SAILPLANE = "sailplane", "Sailplane"
    POWERED_SAILPLANE = "powered_sailplane", "Powered sailplane"
    TOURING_MOTOR_GLIDER = "touring_motor_glider", "Touring motor glider"
    AEROPLANE = "aeroplane", "Aeroplane"


class Authorisation(models.Model):
    """An inspector's authorisation by aircraft category (and, if named, by type); both its first and last day are valid."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="authorisations")
    licence_number = models.CharField(max_length=60)
    privileges = ArrayField(models.CharField(max_length=30, choices=Privilege.choices))
    categories = ArrayField(models.CharField(max_length=30, choices=AircraftCategory.choices))
    aircraft_types = models.ManyToManyField(
        "fleet.AircraftType",
        blank=True,
        help_text="none named: every type of the categories",
    )
    valid_from = models.DateField()
    valid_until = models.DateField()
    issued_by = models.CharField(max_length=120)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="authorisation_dates_ordered",
                condition=Q(valid_until__gte=F("valid_from")),
            ),
            models.CheckConstraint(name="authorisation_has_licence", condition=Q(licence_number__regex=r"\S")),
            models.CheckConstraint(
                name="authorisation_privileges_known",
                condition=Q(privileges__contained_by=list(Privilege.values)) & Q(privileges__len__gte=1),
            ),
            models.CheckConstraint(
                name="authorisation_categories_known",
                condition=Q(categories__contained_by=list(AircraftCategory.values)) & Q(categories__len__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.licence_number} of {self.membership_id}"
