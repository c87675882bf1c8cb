"""Lets the flush between transactional tests pass the triggers that guard append-only tables; only here, only in tests."""

from collections.abc import Iterator, Sequence

import pytest
from django.db import connection, transaction


@pytest.fixture(scope="session", autouse=True)
def _flush_past_triggers() -> Iterator[None]:
    """Needs a superuser, or on PostgreSQL 15 and later GRANT SET ON PARAMETER session_replication_role."""
    flush = connection.ops.execute_sql_flush

    def without_triggers(sql_list: Sequence[str]) -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET LOCAL session_replication_role = replica")
            flush(sql_list)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(connection.ops, "execute_sql_flush", without_triggers)
        yield
