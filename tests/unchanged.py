"""What a refusal must leave alone: a fingerprint of every stored row, and a way to try something and take it back."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.apps import apps
from django.db import connection, transaction

OWN_APPS = ("fleet", "defects", "inspections")


def fingerprint(*, besides: tuple[str, ...] = ()) -> dict[str, str | None]:
    """By table a digest over all its rows; one query. ``besides``: tables that may change."""
    models = [model for label in OWN_APPS for model in apps.get_app_config(label).get_models(include_auto_created=True)]
    tables = [model._meta.db_table for model in models if model._meta.db_table not in besides]
    digests = (f"SELECT '{one}', md5(string_agg(t::text, '|' ORDER BY t::text)) FROM {one} t" for one in tables)  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(digests))
        return dict(cursor.fetchall())


@contextmanager
def unchanged(*, besides: tuple[str, ...] = ()) -> Iterator[None]:
    """Fails if anything is stored, changed or deleted inside."""
    before = fingerprint(besides=besides)
    yield
    after = fingerprint(besides=besides)
    changed = {table for table in before if before[table] != after[table]}
    assert not changed, f"changed: {changed}"


@contextmanager
def taken_back() -> Iterator[None]:
    """Whatever is written inside is gone afterwards."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
