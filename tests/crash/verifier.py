"""A verifier of the event record that shares no code with the service: SQL, json and hashlib.

What it checks is what DEVELOPERS.md promises to whoever wants to check: numbers without a gap, each hash over its
canonical text and naming its predecessor's, every column equal to what the text says, length and head as the chain has them.
"""

import hashlib
import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

SAID = ("id", "chain", "club", "aircraft", "sequence", "kind", "by", "previous_hash")
COLUMNS = {"chain": "chain_id", "club": "club_id", "aircraft": "aircraft_id", "by": "by_id"}


def _rows(sql: str, *parameters: Any) -> list[dict[str, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        names = [column.name for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def _plain(value: object) -> object:
    return str(value) if isinstance(value, UUID) else value


def _event_faults(event: dict[str, Any], number: int, previous: str) -> Iterator[str]:
    if event["sequence"] != number or event["previous_hash"] != previous:
        yield f"{number} does not follow"
    if hashlib.sha256(event["canonical"].encode()).hexdigest() != event["hash"]:
        yield f"{number} has another hash"
        return
    told = json.loads(event["canonical"])
    if any(told[name] != _plain(event[COLUMNS.get(name, name)]) for name in SAID):
        yield f"{number} tells something else"
    if told["subject"] != {"type": event["subject_type"], "id": str(event["subject_id"])}:
        yield f"{number} is about something else"
    if datetime.fromisoformat(told["recorded_at"]) != event["recorded_at"]:
        yield f"{number} was at another time"


def faults(club_id: UUID) -> list[str]:
    """Everything wrong with the record of a club; empty when it is whole."""
    found: list[str] = []
    for chain in _rows("SELECT * FROM fleet_eventchain WHERE club_id = %s", club_id):
        number, previous = 0, ""
        for number, event in enumerate(
            _rows("SELECT * FROM fleet_event WHERE chain_id = %s ORDER BY sequence", chain["id"]), start=1
        ):
            found += _event_faults(event, number, previous)
            if (event["club_id"], event["aircraft_id"]) != (chain["club_id"], chain["aircraft_id"]):
                found.append(f"{number} is of another chain")
            previous = event["hash"]
        if (chain["length"], chain["head"]) != (number, previous):
            found.append(f"a chain has {number} events and not {chain['length']}")
    return found + _missing(club_id)


def _missing(club_id: UUID) -> list[str]:
    """A club has a chain of its own and one for each aircraft, and no event of the club lies in another's chain."""
    chains = "SELECT id FROM fleet_eventchain WHERE club_id = %s"
    strays = _rows(f"SELECT id FROM fleet_event WHERE club_id = %s AND chain_id NOT IN ({chains})", club_id, club_id)  # noqa: S608
    without = _rows(
        "SELECT a.id FROM fleet_aircraft a LEFT JOIN fleet_eventchain c ON c.aircraft_id = a.id"
        " WHERE a.club_id = %s AND (c.id IS NULL OR c.club_id <> a.club_id)",
        club_id,
    )
    own = _rows("SELECT id FROM fleet_eventchain WHERE club_id = %s AND aircraft_id IS NULL", club_id)
    return (
        ["an event without its chain"] * len(strays) + ["no chain"] * len(without) + []
        if own
        else ["no chain of the club"]
    )
