"""Many aircraft from a few: real ones are made through the services, then copied with their facts and stored verdicts."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

from django.db import connection, transaction
from django.db.models import F, Model

from defects.models import Defect, Deferral, IndependentInspection, Rectification
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod, Club, Document, EventChain
from inspections.models import Inspection, InspectionKind, Occurrence, RiggingEvent
from tests.factories import add_documents, deferred, inspect, make_aircraft, make_type, rectified, reported, rig

COPIED: Mapping[type[Model], str] = {
    Aircraft: "id",
    EventChain: "aircraft",
    Document: "aircraft",
    AirworthinessState: "aircraft",
    AssessmentPeriod: "aircraft",
    Inspection: "aircraft",
    RiggingEvent: "aircraft",
    Occurrence: "aircraft",
    Defect: "aircraft",
    Deferral: "defect__aircraft",
    Rectification: "defect__aircraft",
    IndependentInspection: "rectification__defect__aircraft",
}
"""Every table that a verdict is made from or stored in -> path to the aircraft. Chains of copies begin empty."""
ROWS = 5000  # in one statement


def mixed_fleet(club: Club, at: datetime) -> list[Aircraft]:
    """Ten aircraft as a club has them, each with a daily inspection shortly before ``at``.

    Six are as they should be, two wait for triage of a defect on a non-critical item, one flies with a deferred defect
    and one waits for its release.
    """
    of_type = make_type(club)
    fleet = [make_aircraft(club, aircraft_type=of_type, at=at - timedelta(days=100)) for _ in range(10)]
    found = at - timedelta(hours=20)
    findings = {6: reported, 7: reported, 8: deferred, 9: rectified}
    for index, one in enumerate(fleet):
        add_documents(one, "radio_licence", at=at - timedelta(days=99))
        rig(one, at=at - timedelta(days=60))
        inspect(one, InspectionKind.AFTER_RIGGING, at=at - timedelta(days=59))
        if index in findings:
            findings[index](one, at=found)
        inspect(one, at=at - timedelta(seconds=1))
    return fleet


class Copier:
    """Copies the templates with all their rows, in turn. The ids of a copy follow from its name."""

    def __init__(self, templates: Sequence[Aircraft], prefix: str) -> None:
        self.templates = [one.id for one in templates]
        self.prefix = prefix
        self.rows = {model: self._read(model, path) for model, path in COPIED.items()}
        listed = [row for of_model in self.rows.values() for rows in of_model.values() for row in rows]
        self.ids = {row["id"] for row in listed if "id" in row}
        self.written_ids = {str(one) for one in self.ids}

    def _read(self, model: type[Model], path: str) -> Mapping[UUID, list[dict[str, Any]]]:
        found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
        names = [column.attname for column in model._meta.concrete_fields]
        rows = model._default_manager.filter(**{f"{path}__in": self.templates})
        for row in rows.values(*names, owner=F(path)):
            found[row.pop("owner")].append(row)
        return found

    def copy(self, count: int) -> list[UUID]:
        """So many aircraft more; their ids."""
        names = [(self.templates[n % len(self.templates)], f"{self.prefix}{n:05}") for n in range(count)]
        with transaction.atomic():
            for model, rows in self.rows.items():
                copies = [model(**self._copy(model, row, name)) for template, name in names for row in rows[template]]
                model._default_manager.bulk_create(copies, batch_size=ROWS)
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")
        return [uuid5(template, name) for template, name in names]

    def _copy(self, model: type[Model], row: Mapping[str, Any], name: str) -> dict[str, Any]:
        own: dict[str, Any] = {}
        if model is Aircraft:
            own = {"registration": f"ZZ-{name}", "serial_number": name}
        if model is EventChain:
            own = {"length": 0, "head": ""}
        return {column: self._moved(value, name) for column, value in row.items()} | own

    def _moved(self, value: Any, name: str) -> Any:
        """The value with every id of a template's row replaced, in JSON too."""
        if isinstance(value, dict):
            return {key: self._moved(one, name) for key, one in value.items()}
        if isinstance(value, list):
            return [self._moved(one, name) for one in value]
        if isinstance(value, UUID) and value in self.ids:
            return uuid5(value, name)
        if isinstance(value, str) and value in self.written_ids:
            return str(uuid5(UUID(value), name))
        return value
