"""The whole database as fingerprints of rows, to see what an act changed: one statement."""

from collections.abc import Iterable

from django.apps import apps
from django.db import connection
from django.db.models import Model

Rows = dict[tuple[str, str], str]  # (table, primary key) -> fingerprint

OURS = ("fleet", "defects", "inspections")


def models() -> list[type[Model]]:
    """Every model with a table of its own."""
    return [model for label in OURS for model in apps.get_app_config(label).get_models(include_auto_created=True)]


def is_append_only(model: type[Model]) -> bool:
    """Whether the database refuses to change its rows."""
    return any(trigger.name == "never_changed" for trigger in getattr(model._meta, "triggers", ()))


def _fingerprints(model: type[Model]) -> str:
    table, key = model._meta.db_table, model._meta.pk
    assert key is not None
    content = "md5((to_jsonb(t) - 'shown_to')::text)" if table == "fleet_assessmentperiod" else "md5(t::text)"
    return f'SELECT \'{table}\', t."{key.column}"::text, {content} FROM "{table}" t'  # noqa: S608 - names of tables


def take(tables: Iterable[type[Model]] | None = None) -> Rows:
    """Fingerprints of every row. Of a period without its end, which is the one thing added later."""
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(_fingerprints(model) for model in tables or models()))
        return {(table, key): content for table, key, content in cursor.fetchall()}


KEPT = frozenset(model._meta.db_table for model in models() if is_append_only(model)) | {"fleet_assessmentperiod"}


def lost(before: Rows, after: Rows) -> list[tuple[str, str]]:
    """Rows of append-only tables that are gone or differ."""
    return [row for row, content in before.items() if row[0] in KEPT and after.get(row) != content]
