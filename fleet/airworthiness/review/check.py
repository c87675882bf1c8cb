"""One check of the review as it is told: what is open, what is noted, and the evidence in tables."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Outcome(StrEnum):
    """What the records say to a check. None of them says that it is passed: that is for the reviewing staff."""

    EVIDENCE = "evidence"
    OPEN = "open"
    NOT_IN_THESE_RECORDS = "not_in_these_records"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Evidence in rows of plain text."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What one check found."""

    open: tuple[str, ...] = ()  # sentences: what is wanting, and what would close it
    notes: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    evidence: bool = False  # the records hold evidence, if nothing is open
    error: str | None = None  # what kept the check from being made

    @property
    def outcome(self) -> Outcome:
        """What is open outweighs all evidence."""
        if self.open:
            return Outcome.OPEN
        return Outcome.EVIDENCE if self.evidence else Outcome.NOT_IN_THESE_RECORDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One of the eleven documented checks with what was found."""

    number: int
    title: str
    citation: str
    outcome: Outcome
    open: tuple[str, ...]
    notes: tuple[str, ...]
    tables: tuple[Table, ...]
    error: str | None  # what kept it from being made: to be logged, not shown


def tables(*wanted: Table) -> tuple[Table, ...]:
    """Those that have rows."""
    return tuple(table for table in wanted if table.rows)


def day(on: date | None) -> str:
    """``2026-05-10``; nothing for None."""
    return "" if on is None else on.isoformat()


def since_then(since: date | None) -> str:
    """``since 2026-05-10``, or that the record was searched from its beginning."""
    return f"since {since.isoformat()}" if since else "since the record began"
