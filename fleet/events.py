"""The append-only record: canonical bytes, hash chains, verification.

Each aircraft has its own chain, so that there is no global lock; what concerns no aircraft goes to the club's chain.
The caller holds the aircraft's row lock, which orders the aircraft's chain; the club's chain row is locked here.
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import orjson

from fleet.models import Aircraft, Club, Event, EventChain, Membership


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing to record. ``data`` holds what happened, in JSON types, decimals, dates and ids."""

    kind: str
    at: datetime
    by: Membership | None
    subject_type: str
    subject_id: UUID
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """Result of walking every chain of a club; ``head`` is a checkpoint over all chain heads."""

    valid: bool
    checked: int
    head: str
    faults: tuple[str, ...]


def _plain(value: object) -> str:
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} cannot be recorded")


def canonical_json(value: object) -> str:
    """One spelling for one content: sorted keys, no blanks, UTC instants with Z, decimals as strings."""
    return orjson.dumps(value, default=_plain, option=orjson.OPT_SORT_KEYS | orjson.OPT_UTC_Z).decode()


def digest(text: str) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def _canonical(event_id: UUID, chain: EventChain, sequence: int, previous_hash: str, entry: Entry) -> str:
    return canonical_json(
        {
            "id": event_id,
            "chain": chain.id,
            "club": chain.club_id,
            "aircraft": chain.aircraft_id,
            "sequence": sequence,
            "kind": entry.kind,
            "recorded_at": entry.at.astimezone(UTC),
            "by": entry.by.id if entry.by else None,
            "by_name": entry.by.person.full_name if entry.by else None,
            "subject": {"type": entry.subject_type, "id": entry.subject_id},
            "data": entry.data,
            "previous_hash": previous_hash,
        }
    )


def _extend(chain: EventChain, entries: Iterable[Entry]) -> list[Event]:
    """Unsaved events that continue the chain; moves the chain's length and head in memory."""
    events = []
    for entry in entries:
        event_id = uuid4()
        canonical = _canonical(event_id, chain, chain.length + 1, chain.head, entry)
        event = Event(
            id=event_id,
            club_id=chain.club_id,
            chain=chain,
            aircraft_id=chain.aircraft_id,
            sequence=chain.length + 1,
            kind=entry.kind,
            recorded_at=entry.at,
            by=entry.by,
            subject_type=entry.subject_type,
            subject_id=entry.subject_id,
            canonical=canonical,
            previous_hash=chain.head,
            hash=digest(canonical),
        )
        chain.length, chain.head = event.sequence, event.hash
        events.append(event)
    return events


def append(entries: Mapping[EventChain, Sequence[Entry]]) -> list[Event]:
    """Append entries to chains of aircraft that the caller has locked: two statements for any number of them.

    The chains must have been read under the lock.
    """
    longer = [chain for chain, listed in entries.items() if listed]
    if not longer:
        return []
    events = [event for chain in longer for event in _extend(chain, entries[chain])]
    # an upsert of rows that are there: a bulk update's CASE costs many times as much, most of it before the database
    EventChain.objects.bulk_create(
        longer, update_conflicts=True, unique_fields=["id"], update_fields=["length", "head"]
    )
    return Event.objects.bulk_create(events)


def append_for_club(club: Club, entries: Sequence[Entry]) -> list[Event]:
    """Append entries that concern no aircraft."""
    EventChain.objects.get_or_create(club=club, aircraft=None)
    chain = EventChain.objects.select_for_update().get(club=club, aircraft=None)
    events = _extend(chain, entries)
    chain.save(update_fields=["length", "head"])
    return Event.objects.bulk_create(events)


def open_chain(aircraft: Aircraft) -> EventChain:
    """The chain of a new aircraft."""
    return EventChain.objects.create(club_id=aircraft.club_id, aircraft=aircraft)


def _differs(event: Event, chain: EventChain) -> bool:
    """Whether a stored column says something else than the hashed text, or the text is no such record at all."""
    stored = {
        "id": event.id,
        "chain": chain.id,
        "club": event.club_id,
        "aircraft": event.aircraft_id,
        "sequence": event.sequence,
        "kind": event.kind,
        "recorded_at": event.recorded_at.astimezone(UTC),
        "by": event.by_id,
        "subject": {"type": event.subject_type, "id": event.subject_id},
        "previous_hash": event.previous_hash,
    }
    try:
        told = orjson.loads(event.canonical)
    except orjson.JSONDecodeError:
        return True
    expected = orjson.loads(canonical_json(stored))
    return not isinstance(told, dict) or any(told.get(key) != value for key, value in expected.items())


def _fault(event: Event, chain: EventChain, sequence: int, previous_hash: str) -> str | None:
    """What is wrong with one event at its place."""
    if event.sequence != sequence:
        return f"number {sequence} is missing"
    if event.previous_hash != previous_hash:
        return f"number {sequence} does not follow its predecessor"
    if digest(event.canonical) != event.hash:
        return f"number {sequence} was changed"
    if _differs(event, chain) or (event.club_id, event.aircraft_id) != (chain.club_id, chain.aircraft_id):
        return f"number {sequence} was changed beside its hashed text"
    return None


def _walk(chain: EventChain, events: Sequence[Event]) -> str | None:
    previous = ""
    for sequence, event in enumerate(events, start=1):
        fault = _fault(event, chain, sequence, previous)
        if fault:
            return fault
        previous = event.hash
    if (chain.length, chain.head) != (len(events), previous):
        return f"{chain.length} were recorded, {len(events)} are there"
    return None


def verify(club: Club) -> Verification:
    """Walk every chain of the club: a changed field, a deleted, reordered or cut-off event is found. Three queries."""
    chains = list(EventChain.objects.filter(club=club).order_by("id"))
    missing = Aircraft.objects.filter(club=club).exclude(event_chain__club=club)
    by_chain: dict[UUID, list[Event]] = defaultdict(list)
    for event in Event.objects.filter(club=club).order_by("chain_id", "sequence").iterator(chunk_size=2000):
        by_chain[event.chain_id].append(event)
    known = {chain.id for chain in chains}
    faults = [f"chain {chain.id}: {fault}" for chain in chains if (fault := _walk(chain, by_chain[chain.id]))]
    faults += [f"chain {chain_id}: is not the club's" for chain_id in by_chain if chain_id not in known]
    faults += [f"aircraft {aircraft.registration}: its chain is gone" for aircraft in missing]
    if all(chain.aircraft_id for chain in chains):
        faults.append("the club's own chain is gone")
    head = digest(canonical_json([[chain.id, chain.length, chain.head] for chain in chains]))
    checked = sum(len(events) for events in by_chain.values())
    return Verification(valid=not faults, checked=checked, head=head, faults=tuple(faults))
