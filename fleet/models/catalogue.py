"""Aircraft types and their item catalogue."""

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.people import AircraftCategory, Club


class Zone(models.TextChoices):
    """Where on the aircraft, in the order of a walk: cockpit first, then counter-clockwise, nose last."""

    COCKPIT = "cockpit", "Cockpit"
    GEAR = "gear", "Landing gear"
    WING = "wing", "Wing"
    FUSELAGE = "fuselage", "Fuselage"
    TAIL = "tail", "Tail"
    ENGINE = "engine", "Engine and propeller"
    NOSE = "nose", "Nose"
    BALLAST = "ballast", "Ballast"
    GENERAL = "general", "Whole aircraft"


class Side(models.TextChoices):
    """Side as seen from the pilot's seat."""

    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    CENTRE = "centre", "Centre"
    BOTH = "both", "Both"


class AircraftType(models.Model):
    """A model of aircraft in one club's register: category, seats, catalogue, sheets, programme."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="aircraft_types")
    designation = models.CharField(max_length=80)
    manufacturer = models.CharField(max_length=80)
    category = models.CharField(max_length=30, choices=AircraftCategory.choices)
    seats = models.PositiveSmallIntegerField(default=1)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_designation_a_club", fields=["club", "designation"]),
            models.CheckConstraint(name="aircraft_type_seats", condition=Q(seats__range=(1, 20))),
            models.CheckConstraint(
                name="aircraft_type_category",
                condition=Q(category__in=AircraftCategory.values),
            ),
        ]

    def __str__(self) -> str:
        return self.designation


class Inspectable(models.Model):
    """What an item of the catalogue says; a line of a published sheet carries a copy that never changes."""

    code = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    zone = models.CharField(max_length=20, choices=Zone.choices)
    side = models.CharField(max_length=10, choices=Side.choices, default=Side.CENTRE)
    critical = models.BooleanField(help_text="its failure can directly endanger flight; never deferrable")
    deferrable = models.BooleanField(default=False)
    two_person = models.BooleanField(default=False, help_text="the check needs a second person")
    ballast = models.BooleanField(default=False, help_text="the line records how much ballast is on board")
    quantity = models.CharField(
        max_length=60,
        blank=True,
        help_text="name of the measured quantity; blank: not measured",
    )
    unit = models.CharField(max_length=20, blank=True, help_text="UCUM code")
    minimum = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    maximum = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    caution = models.TextField(blank=True)
    handling_note = models.TextField(blank=True)
    system_code = models.CharField(max_length=4, blank=True, help_text="joint aircraft system/component code")

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                name="%(class)s_critical_not_deferrable",
                condition=Q(critical=False) | Q(deferrable=False),
            ),
            models.CheckConstraint(
                name="%(class)s_unit_with_quantity",
                condition=Q(quantity="", unit="", minimum=None, maximum=None) | (~Q(quantity="") & ~Q(unit="")),
            ),
            models.CheckConstraint(
                name="%(class)s_limits_ordered",
                condition=Q(minimum=None) | Q(maximum=None) | Q(maximum__gte=F("minimum")),
            ),
            models.CheckConstraint(
                name="%(class)s_ballast_measured",
                condition=Q(ballast=False) | ~Q(quantity=""),
            ),
            models.CheckConstraint(
                name="%(class)s_has_code",
                condition=Q(code__regex=r"^[a-z0-9][a-z0-9_.-]*$"),
            ),
            models.CheckConstraint(name="%(class)s_zone", condition=Q(zone__in=Zone.values)),
            models.CheckConstraint(name="%(class)s_side", condition=Q(side__in=Side.values)),
            models.CheckConstraint(
                name="%(class)s_system_code",
                condition=Q(system_code="") | Q(system_code__regex=r"^\d{4}$"),
            ),
        ]

    @property
    def measured(self) -> bool:
        """Whether the line asks for a measured value."""
        return self.quantity != ""


class Item(Inspectable):
    """One inspectable thing of a type's catalogue."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft_type = models.ForeignKey(AircraftType, on_delete=models.PROTECT, related_name="items")
    created_at = models.DateTimeField()

    class Meta(Inspectable.Meta):
        constraints = [
            *Inspectable.Meta.constraints,
            models.UniqueConstraint(name="one_item_code_a_type", fields=["aircraft_type", "code"]),
        ]

    def __str__(self) -> str:
        return self.code


INSPECTABLE_FIELDS = tuple(field.name for field in Inspectable._meta.local_fields)
