"""Append-only tables refuse TRUNCATE in the database itself; only the tests' own flush passes."""

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction


def guarded_tables() -> list[str]:
    """Tables with an enabled trigger on TRUNCATE (tgtype bit 5: pg_trigger.h)."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgtype & 32 <> 0 AND tgenabled = 'O'")
        return [name for (name,) in cursor.fetchall()]


@pytest.mark.django_db(transaction=True)
def test_truncate_is_refused_and_yet_tests_can_start_from_an_empty_database() -> None:
    tables = guarded_tables()
    assert "fleet_event" in tables
    for table in tables:
        with pytest.raises(DatabaseError, match="Cannot truncate"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"TRUNCATE {connection.ops.quote_name(table)} CASCADE")
    call_command("flush", interactive=False, verbosity=0, inhibit_post_migrate=True)


@pytest.mark.django_db(transaction=True)
def test_the_triggers_are_back_after_the_flush() -> None:
    call_command("flush", interactive=False, verbosity=0, inhibit_post_migrate=True)
    with connection.cursor() as cursor:
        cursor.execute("SHOW session_replication_role")
        assert cursor.fetchone() == ("origin",)
