"""Sheets: an ordered, versioned route over a type's items. A published version never changes."""

import uuid

from django.db import models
from django.db.models import Q

from fleet.models import AircraftType, Inspectable, Item, Membership
from fleet.models.guard import append_only


class InspectionKind(models.TextChoices):
    """Kinds of inspection."""

    DAILY = "daily", "Daily inspection"
    AFTER_RIGGING = "after_rigging", "Inspection after rigging"
    UNSCHEDULED = "unscheduled", "Unscheduled inspection"
    PERIODIC = "periodic", "Periodic inspection"


class Sheet(models.Model):
    """One published version of a route."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    aircraft_type = models.ForeignKey(AircraftType, on_delete=models.PROTECT, related_name="sheets")
    kind = models.CharField(max_length=16, choices=InspectionKind.choices)
    version = models.PositiveIntegerField()
    title = models.CharField(max_length=120)
    published_by = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="+")
    published_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="one_sheet_version", fields=["aircraft_type", "kind", "version"]),
            models.CheckConstraint(name="sheet_kind_known", condition=Q(kind__in=InspectionKind.values)),
            models.CheckConstraint(name="sheet_version_from_one", condition=Q(version__gte=1)),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.kind} v{self.version}"


class SheetLine(Inspectable):
    """A station of the route, with the words and limits of the item as they were when the sheet was published."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="sheet_lines")
    position = models.PositiveIntegerField()
    required = models.BooleanField(default=True)

    class Meta(Inspectable.Meta):
        ordering = ["position"]
        constraints = [
            *Inspectable.Meta.constraints,
            models.UniqueConstraint(name="one_line_a_position", fields=["sheet", "position"]),
            models.UniqueConstraint(name="one_line_an_item", fields=["sheet", "item"]),
        ]
        triggers = append_only()

    def __str__(self) -> str:
        return f"{self.position}. {self.code}"
