"""Many aircraft with a history each, copied row by row from one that was made through the services."""

import uuid
from collections.abc import Iterable

from django.db.models import Model

from defects.models import Defect, Deferral
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod, Document, EventChain
from inspections.models import Inspection

COPIED: tuple[type[Model], ...] = (AirworthinessState, AssessmentPeriod, EventChain, Document, Defect, Inspection)


def _copies(rows: Iterable[Model], aircraft: Aircraft) -> list[Model]:
    copies = []
    for row in rows:
        row.pk = aircraft.pk if isinstance(row, AirworthinessState) else uuid.uuid4()
        row.aircraft = aircraft  # type: ignore[attr-defined]
        row._state.adding = True
        copies.append(row)
    return copies


def add_copies(aircraft: Aircraft, number: int) -> list[Aircraft]:
    """So many more of it, with the same verdict, documents, defects and inspections; their chains begin anew."""
    made = [
        Aircraft(
            club=aircraft.club,
            aircraft_type=aircraft.aircraft_type,
            registration=f"ZZ-C{each:03}",
            serial_number=f"copy {each}",
            created_at=aircraft.created_at,
        )
        for each in range(number)
    ]
    Aircraft.objects.bulk_create(made)
    for model in COPIED:
        rows = [copy for one in made for copy in _copies(model._default_manager.filter(aircraft=aircraft), one)]
        if model is EventChain:
            rows = [EventChain(club=one.club, aircraft=one) for one in made]
        model._default_manager.bulk_create(rows)
    _defer_copies(Defect.objects.filter(aircraft__in=made, deferral__isnull=False))
    return made


def _defer_copies(defects: Iterable[Defect]) -> None:
    """Each deferred copy has a deferral of its own."""
    for defect in defects:
        deferral = Deferral.objects.get(defect__deferral=defect.deferral_id)
        deferral.pk, deferral.defect, deferral._state.adding = uuid.uuid4(), defect, True
        deferral.save()
        defect.deferral = deferral
        defect.save()
