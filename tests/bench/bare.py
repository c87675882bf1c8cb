"""What the board costs without a framework: WSGI, psycopg and orjson, one query, no sign-in.

Two of them: one that lets psycopg read the JSON columns and writes them again, as one would at first, and one that hands
the database's text through. The goal is measured against the second, which is the faster.
"""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from typing import Any

import orjson
import psycopg
from psycopg.rows import dict_row

BOARD = """
SELECT a.id AS aircraft, a.registration, t.designation AS aircraft_type, a.aircraft_type_id, s.status, s.ready_today,
       s.reasons{text} AS reasons, s.limitations, s.open_defects, s.next_due{text} AS next_due
FROM fleet_aircraft a
JOIN fleet_airworthinessstate s ON s.aircraft_id = a.id
JOIN fleet_aircrafttype t ON t.id = a.aircraft_type_id
WHERE a.club_id = %s ORDER BY a.registration
"""
CLUB = "BENCH_CLUB"  # environment variable: whose board
HEADERS = [("Content-Type", "application/json")]


@cache
def _connection() -> "psycopg.Connection[dict[str, Any]]":
    """One a worker process."""
    return psycopg.connect(os.environ["DATABASE_URL"], autocommit=True, row_factory=dict_row)


def _answer(rows: list[dict[str, Any]], start_response: Any) -> list[bytes]:
    body = orjson.dumps({"as_of": datetime.now(UTC), "results": rows}, option=orjson.OPT_UTC_Z)
    start_response("200 OK", [*HEADERS, ("Content-Length", str(len(body)))])
    return [body]


def board_read(start_response: Any) -> list[bytes]:
    """The JSON columns are read and written."""
    return _answer(_connection().execute(BOARD.format(text=""), [os.environ[CLUB]]).fetchall(), start_response)


def board_handed_through(start_response: Any) -> list[bytes]:
    """The JSON columns go out as the database wrote them."""
    rows = _connection().execute(BOARD.format(text="::text"), [os.environ[CLUB]]).fetchall()
    for row in rows:
        row["reasons"] = orjson.Fragment(row["reasons"])
        row["next_due"] = row["next_due"] and orjson.Fragment(row["next_due"])
    return _answer(rows, start_response)


HANDLERS: dict[str, Callable[[Any], list[bytes]]] = {
    "/bare/board-read": board_read,
    "/bare/board": board_handed_through,
}
