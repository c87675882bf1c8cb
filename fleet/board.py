"""Reading the board: two hand-written statements, because composing them would cost more than running them.

JSON columns come as the text that is stored, to be handed out unread. A verdict that has run out, or is not there at
all, comes with ``run_out``: it must be evaluated anew before it is shown.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection

_RUN_OUT = "CASE WHEN s.aircraft_id IS NULL THEN %(at)s WHEN s.valid_until <= %(at)s THEN s.valid_until END"
# a number that tells the content of a row, formed by the database without handing the content out
_VERSION = (
    "hash_record_extended(ROW(a.id, a.registration, t.id, t.designation, s.status, s.ready_today, s.reasons,"
    " s.limitations, s.open_defects, s.next_due, s.valid_until), 0)"
)
_FLEET = (
    " FROM fleet_aircraft a JOIN fleet_aircrafttype t ON t.id = a.aircraft_type_id"
    " LEFT JOIN fleet_airworthinessstate s ON s.aircraft_id = a.id WHERE a.club_id = %(club)s"
)
_ROWS = (
    "SELECT a.id, a.registration, t.designation, t.id, s.status, s.ready_today, s.reasons::text, s.limitations,"
    f" s.open_defects, s.next_due::text, {_VERSION}, {_RUN_OUT}{_FLEET} ORDER BY a.registration"
)
_SUMMARY = (
    f"SELECT count(*) FILTER (WHERE {{wanted}}), bit_xor({_VERSION}) FILTER (WHERE {{wanted}}),"
    f" count({_RUN_OUT}){_FLEET}"
)
_SUMMARY_OF_ALL = _SUMMARY.format(wanted="true")
_SUMMARY_OF_STATUS = _SUMMARY.format(wanted="s.status = %(status)s")


class Row(NamedTuple):
    """One aircraft as stored."""

    aircraft: UUID
    registration: str
    aircraft_type: str
    aircraft_type_id: UUID
    status: str | None
    ready_today: bool | None
    reasons: str | None
    limitations: list[str] | None
    open_defects: int | None
    next_due: str | None
    version: int
    run_out: datetime | None


@dataclass(frozen=True, slots=True)
class Summary:
    """What tells one content of the board from another: how many rows, and their versions in any order."""

    count: int
    versions: int

    @classmethod
    def of(cls, rows: Iterable[Row]) -> "Summary":
        """The same from the rows themselves."""
        count = versions = 0
        for row in rows:
            count, versions = count + 1, versions ^ row.version
        return cls(count, versions)


def _executed(statement: str, **values: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def rows(club_id: UUID, at: datetime) -> list[Row]:
    """The whole fleet by registration."""
    return [Row(*values) for values in _executed(_ROWS, club=club_id, at=at)]


def summary(club_id: UUID, status: str | None, at: datetime) -> Summary | None:
    """Of the whole fleet, or of those with this status; None if it does not tell, because a verdict has run out."""
    statement = _SUMMARY_OF_ALL if status is None else _SUMMARY_OF_STATUS
    ((count, versions, run_out),) = _executed(statement, club=club_id, at=at, status=status)
    return None if run_out else Summary(count, versions or 0)
