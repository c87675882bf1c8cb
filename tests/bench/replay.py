"""The statements of one defect report, captured from the application and sent again through psycopg with fresh ids.

What a report reads decides two numbers of what it writes, the defect's and the event's; they are read here too. Everything
else that differs from report to report (ids, instants, the key) is put in new. What stays is the text that the rules made.
"""

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from random import getrandbits
from typing import Any
from uuid import UUID, uuid4

import psycopg
from django.db import connection

Statement = tuple[str, Any, bool]  # SQL, parameters, whether inside the transaction
FIRST_NUMBER = 700_000  # so large that no other parameter equals it
FIRST_SEQUENCE = 800_000


@contextmanager
def captured() -> Iterator[list[Statement]]:
    """Every statement that Django sends meanwhile, savepoints included."""
    seen: list[Statement] = []

    def keep(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Mapping[str, Any]) -> Any:
        seen.append((sql, params or (), context["connection"].in_atomic_block))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(keep):
        yield seen


@dataclass(slots=True)
class Report:
    """A captured report: its statements, and which of their parameters belong to it alone."""

    statements: list[Statement]
    aircraft: UUID
    chain: UUID
    reported_at: datetime
    key: str
    kept: frozenset[UUID]
    """Ids that were there before: of the reporter, the club, the item."""

    def send(self, raw: "psycopg.Connection[Any]", aircraft: UUID, chain: UUID) -> float:
        """Once more, on another aircraft; the seconds it took."""
        start = time.perf_counter()
        once = _Once(self, {self.aircraft: aircraft, self.chain: chain})
        cursor = psycopg.ClientCursor(raw)  # as Django does
        for sql, params, inside in self.statements:
            if inside and not once.begun:
                once.begun = True
                cursor.execute("BEGIN")
            cursor.execute(sql, once.fresh(sql, params))
            once.read(sql, cursor)
        cursor.execute("COMMIT")
        return time.perf_counter() - start


@dataclass(slots=True)
class _Once:
    """One replay: what its parameters are."""

    report: Report
    ids: dict[UUID, UUID]
    begun: bool = False
    number: int = 0
    sequence: int = 0
    now: datetime = field(default_factory=lambda: datetime.now(UTC))
    key: str = field(default_factory=lambda: str(uuid4()))

    def fresh(self, sql: str, params: Any) -> Any:
        return [getrandbits(62)] if "advisory" in sql else self._moved(params)

    def read(self, sql: str, cursor: "psycopg.Cursor[Any]") -> None:
        """As the application does: every row. Numbers go on from what is stored, instants from when the lock was had."""
        if cursor.description is None:
            return
        names = [column.name for column in cursor.description]
        rows = cursor.fetchall()
        if "FOR UPDATE" in sql:
            self.now = datetime.now(UTC)
        if "last" in names:
            self.number = rows[0][names.index("last")] + 1
        if "length" in names:
            self.sequence = rows[0][names.index("length")]

    def _moved(self, value: Any) -> Any:
        if isinstance(value, dict):
            return {name: self._moved(one) for name, one in value.items()}
        if isinstance(value, list | tuple):
            return [self._moved(one) for one in value]
        if isinstance(value, UUID):
            return value if value in self.report.kept else self.ids.setdefault(value, uuid4())
        if value == self.report.reported_at:
            return self.now
        if value == self.report.key:
            return self.key
        return self._numbered(value)

    def _numbered(self, value: Any) -> Any:
        if not isinstance(value, int) or value < FIRST_NUMBER:
            return value
        if value >= FIRST_SEQUENCE:
            return self.sequence + value - FIRST_SEQUENCE
        return self.number
