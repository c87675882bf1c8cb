"""Who keeps the programme, and how its acts are recorded."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from fleet import assessment, events
from fleet.airworthiness.verdict import Verdict
from fleet.models import Aircraft, Membership, Role

OFFICERS = frozenset({Role.TECHNICAL_OFFICER})
DECIDERS = frozenset({Role.TECHNICAL_OFFICER, Role.INSPECTOR})


def entry_of(kind: str, what: str, record: Any, by: Membership, at: datetime, data: Mapping[str, Any]) -> events.Entry:
    """The event of an act on a record."""
    return events.Entry(kind=kind, at=at, by=by, subject_type=what, subject_id=record.id, data=data)


def conclude(fleet: Sequence[Aircraft], entry: events.Entry, by: Membership, at: datetime) -> dict[UUID, Verdict]:
    """Record for the club and each aircraft, and judge anew."""
    events.append_for_club(by.club, [entry])
    return assessment.conclude(fleet, at=at, entries={one.id: [entry] for one in fleet})
