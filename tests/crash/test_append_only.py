"""R6: the database itself refuses to change, delete or empty what is only ever added to, whatever way is tried."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import Model
from django.db.models.deletion import ProtectedError

from fleet.models import AssessmentPeriod, Club
from tests.stateful.snapshot import is_append_only, models

pytestmark = pytest.mark.django_db
KEPT = [model for model in models() if is_append_only(model)]
MAY_CHANGE = {  # each for a reason: it is where something stands now, and how it came there is in the append-only rows
    "fleet.Club", "fleet.Person", "fleet.Person_groups", "fleet.Person_user_permissions", "fleet.Membership",
    "fleet.Authorisation", "fleet.Authorisation_aircraft_types", "fleet.ApiToken", "fleet.IdempotencyRecord",
    "fleet.AircraftType", "fleet.Item", "fleet.Aircraft", "fleet.AirworthinessState", "fleet.EventChain",
    "fleet.Document", "fleet.Notification", "fleet.JobRun", "defects.Defect", "fleet.UsageTotal", "fleet.ComponentKind",
    "fleet.Position", "fleet.Position_kinds", "inspections.Task", "inspections.TaskLimit", "inspections.DueItem",
    "inspections.Directive", "inspections.Directive_aircraft_types", "inspections.Directive_component_kinds",
}  # fmt: skip
GUARDED_OTHERWISE = {"fleet.AssessmentPeriod", "fleet.Component", "fleet.Installation"}
TRIGGERS = """
    SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal AND tgenabled = 'O'
"""
DELETE = "Cannot (update or )?delete"  # of the trigger, or of the framework where other rows refer to it
Way = Callable[[type[Model], Model], object]


def run(sql: str, *parameters: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)


def update_by_sql(model: type[Model], row: Model) -> None:
    """To the very same values: not even that."""
    for field in model._meta.local_concrete_fields:
        with pytest.raises(DatabaseError, match="Cannot update"), transaction.atomic():
            run(f'UPDATE "{model._meta.db_table}" SET "{field.column}" = "{field.column}"')  # noqa: S608
    run(f'UPDATE "{model._meta.db_table}" SET "{field.column}" = "{field.column}"')  # noqa: S608


def upsert(model: type[Model], row: Model) -> None:
    names = [field.name for field in model._meta.local_concrete_fields if not field.primary_key]
    copy = model(**{field.attname: getattr(row, field.attname) for field in model._meta.local_concrete_fields})
    model._default_manager.bulk_create([copy], update_conflicts=True, update_fields=names, unique_fields=["pk"])


def bulk_update(model: type[Model], row: Model) -> None:
    names = [field.name for field in model._meta.local_concrete_fields if not field.primary_key]
    model._default_manager.bulk_update([row], names)


def _same(model: type[Model], row: Model) -> dict[str, Any]:
    field = next(field for field in model._meta.local_concrete_fields if not field.primary_key)
    return {field.attname: getattr(row, field.attname)}


WAYS: dict[str, tuple[str, Way]] = {
    "SQL update": ("Cannot update", update_by_sql),
    "upsert": ("Cannot update", upsert),
    "queryset update": ("Cannot update", lambda model, row: model._default_manager.update(**_same(model, row))),
    "bulk_update": ("Cannot update", bulk_update),
    "save": ("Cannot update", lambda model, row: row.save()),
    "SQL delete": (DELETE, lambda model, row: run(f'DELETE FROM "{model._meta.db_table}"')),  # noqa: S608
    "queryset delete": (DELETE, lambda model, row: model._default_manager.all().delete()),
    "delete": (DELETE, lambda model, row: row.delete()),
    "truncate": ("Cannot truncate", lambda model, row: run(f'TRUNCATE "{model._meta.db_table}" CASCADE')),
}


def test_every_model_is_append_only_or_named_as_one_that_may_change() -> None:
    kept = {model._meta.label for model in KEPT}
    assert {model._meta.label for model in models()} == kept | MAY_CHANGE | GUARDED_OTHERWISE
    assert not kept & (MAY_CHANGE | GUARDED_OTHERWISE)
    assert len(kept) > 10


@pytest.mark.parametrize("model", KEPT, ids=lambda model: model._meta.label)
def test_guards_stand_in_the_database(record: Club, model: type[Model]) -> None:
    with connection.cursor() as cursor:
        cursor.execute(TRIGGERS, [model._meta.db_table])
        names = {name.rsplit("_", 1)[0] for (name,) in cursor.fetchall()}
    assert {"pgtrigger_never_changed", "pgtrigger_never_emptied"} <= names


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("model", KEPT, ids=lambda model: model._meta.label)
def test_refused(record: Club, model: type[Model], way: str) -> None:
    words, attempt = WAYS[way]
    row = model._default_manager.first()
    assert row is not None, "the record has no such row, so nothing would be tried"
    with pytest.raises((DatabaseError, ProtectedError), match=words), transaction.atomic():
        attempt(model, row)


COLUMNS = [field.column for field in AssessmentPeriod._meta.local_concrete_fields]


def test_a_closed_period_is_never_touched_again(record: Club) -> None:
    period = AssessmentPeriod.objects.exclude(shown_to=None).first()
    assert period is not None
    for column in COLUMNS:
        with pytest.raises(DatabaseError, match="Cannot update"), transaction.atomic():
            run(f"UPDATE fleet_assessmentperiod SET {column} = {column} WHERE id = %s", period.id)  # noqa: S608


CHANGES = {
    "status": "'serviceable'", "ready_today": "NOT ready_today", "reasons": "'[]'", "limitations": "'{nothing}'",
    "open_defects": "open_defects + 1", "next_due": "'{}'", "shown_from": "shown_from - interval '1 hour'",
    "id": "gen_random_uuid()", "aircraft_id": "(SELECT a.id FROM fleet_aircraft a WHERE a.id <> aircraft_id LIMIT 1)",
}  # fmt: skip


def test_an_open_period_is_only_closed(record: Club) -> None:
    assert set(CHANGES) == set(COLUMNS) - {"shown_to"}
    period = AssessmentPeriod.objects.filter(shown_to=None, status="grounded").first()
    assert period is not None
    for column, value in CHANGES.items():
        for close in ("", ", shown_to = shown_from + interval '1 hour'"):
            sql = f"UPDATE fleet_assessmentperiod SET {column} = {value}{close} WHERE id = %s"  # noqa: S608
            with pytest.raises(DatabaseError, match="Cannot update"), transaction.atomic():
                run(sql, period.id)
    run("UPDATE fleet_assessmentperiod SET shown_to = shown_from + interval '1 hour' WHERE id = %s", period.id)
    connection.check_constraints()
    for attempt in ("DELETE FROM fleet_assessmentperiod", "TRUNCATE fleet_assessmentperiod"):
        with pytest.raises(DatabaseError, match="Cannot"), transaction.atomic():
            run(attempt)
