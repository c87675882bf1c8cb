"""What is once recorded is never changed or deleted: the database refuses, whoever asks."""

import pytest
from django.apps import apps
from django.db import Error, connection, transaction
from django.db.models import Model

from fleet.models import Aircraft, AssessmentPeriod, Flag
from tests.factories import NOW
from tests.fleet import rows
from tests.fleet.rows import ROWS
from tests.unchanged import OWN_APPS

pytestmark = pytest.mark.django_db

ONLY_ADDED_TO = {
    "fleet.Event",
    "fleet.Attachment",
    "fleet.Flag",
    "defects.DefectAttachment",
    "defects.Triage",
    "defects.Deferral",
    "defects.DeferralEnd",
    "defects.Rectification",
    "defects.IndependentInspection",
    "defects.Release",
    "inspections.Sheet",
    "inspections.SheetLine",
    "inspections.Occurrence",
    "inspections.RiggingEvent",
    "inspections.Inspection",
    "inspections.InspectionResult",
    "inspections.InspectionAttachment",
}
KEPT_IN_PART = {"fleet.AssessmentPeriod"}  # closed once, never deleted
LINKS = {"defects.DefectAttachment": "defect", "inspections.InspectionAttachment": "inspection"}
MODELS = {model._meta.label: model for label in OWN_APPS for model in apps.get_app_config(label).get_models()}


@pytest.fixture(autouse=True)
def _something_is_there(aircraft: Aircraft) -> None:
    """An aircraft with its club and people."""


def stored(label: str) -> Model:
    """One row of the table."""
    if label in LINKS:
        of = LINKS[label]
        subject = rows.defect() if of == "defect" else rows.inspection()
        attachment = MODELS["fleet.Attachment"].objects.create(**rows.attachment_row())  # type: ignore[attr-defined]
        made: Model = MODELS[label].objects.create(**{of: subject, "attachment": attachment})  # type: ignore[attr-defined]
        return made
    if label == "fleet.Flag":
        return Flag.objects.create(aircraft=rows.aircraft(), kind="odd", key="odd", raised_at=NOW)
    model = MODELS[label]
    row = model(**ROWS[model]())
    row.save(force_insert=True)
    return row


def refused(sql: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # checks that still wait would get in the way
        with pytest.raises(Error, match="pgtrigger: Cannot"), transaction.atomic():
            cursor.execute(sql, values)  # type: ignore[arg-type]


@pytest.mark.parametrize("label", sorted(ONLY_ADDED_TO | KEPT_IN_PART))
def test_a_row_is_neither_changed_nor_deleted(label: str) -> None:
    row = stored(label)
    table, key = row._meta.db_table, row._meta.pk.column
    column = next(field.column for field in row._meta.local_fields if not field.primary_key)
    value = getattr(row, next(field.attname for field in row._meta.local_fields if not field.primary_key))
    refused(f"UPDATE {table} SET {column} = %s WHERE {key} = %s", value, row.pk)  # noqa: S608
    refused(f"DELETE FROM {table} WHERE {key} = %s", row.pk)  # noqa: S608
    refused(f"TRUNCATE {table} CASCADE")


def test_which_tables_are_only_added_to() -> None:
    guarded = {
        label
        for label, model in MODELS.items()
        if "never_changed" in {trigger.name for trigger in getattr(model._meta, "triggers", [])}
    }
    assert guarded == ONLY_ADDED_TO


def test_a_period_is_closed_once_and_nothing_else_about_it_changes() -> None:
    period = stored("fleet.AssessmentPeriod")
    table = AssessmentPeriod._meta.db_table
    later = NOW.replace(hour=12)
    refused(f"UPDATE {table} SET shown_to = %s, status = 'limited' WHERE id = %s", later, period.pk)  # noqa: S608
    assert AssessmentPeriod.objects.filter(id=period.pk).update(shown_to=later) == 1
    for sql in ("shown_to = NULL", "shown_to = shown_to + interval '1 hour'", "ready_today = true"):
        refused(f"UPDATE {table} SET {sql} WHERE id = %s", period.pk)  # noqa: S608
