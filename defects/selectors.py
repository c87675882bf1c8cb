"""Reads of defects, scoped to a club."""

from uuid import UUID

from django.db.models import QuerySet

from defects.models import Defect
from fleet.errors import NotFound


def defects_of(club_id: UUID) -> QuerySet[Defect]:
    """Every defect of the club's aircraft with what its representation shows, in one query."""
    return Defect.objects.filter(aircraft__club_id=club_id).select_related(
        "aircraft__club",
        "aircraft__aircraft_type",
        "item",
        "reported_by__person",
        "deferral__end",
        "deferral__deferred_by__person",
        "rectification__independent_inspection__inspected_by__person",
        "rectification__performed_by__person",
        "rectification__supervised_by__person",
        "release",
    )


def defect_of(club_id: UUID, defect_id: UUID | str) -> Defect:
    """One defect of the club; another club's does not exist."""
    found = defects_of(club_id).filter(id=defect_id).first()
    if found is None:
        raise NotFound("defect_not_found", "There is no such defect in your club.")
    return found
