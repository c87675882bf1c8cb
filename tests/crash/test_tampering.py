"""R6: whoever gets round the guards of the database is found, by the service's own verification and by a foreign one."""

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from uuid import UUID

import orjson
import pytest
from django.db import DataError, IntegrityError, connection, transaction

from fleet import events
from fleet.models import Aircraft, Club, Event, EventChain
from tests.crash import verifier

pytestmark = pytest.mark.django_db

FLIPPED = "translate({column}, '0123456789abcdef', '123456789abcdef0')"
COLUMNS = {  # every column of an event, and how it is changed
    "id": ["gen_random_uuid()"],
    "club_id": ["(SELECT c.id FROM fleet_club c WHERE c.id <> club_id LIMIT 1)"],
    "chain_id": ["(SELECT c.id FROM fleet_eventchain c WHERE c.length < sequence LIMIT 1)"],
    "aircraft_id": ["(SELECT a.id FROM fleet_aircraft a WHERE a.id IS DISTINCT FROM aircraft_id LIMIT 1)", "NULL"],
    "sequence": ["sequence + 1000"],
    "kind": ["kind || 'x'", "''"],
    "recorded_at": ["recorded_at + interval '1 microsecond'", "recorded_at - interval '1 day'"],
    "by_id": ["(SELECT m.id FROM fleet_membership m WHERE m.id IS DISTINCT FROM by_id LIMIT 1)", "NULL"],
    "subject_type": ["subject_type || 'x'"],
    "subject_id": ["gen_random_uuid()"],
    "canonical": [
        "replace(canonical, '\"kind\":', '\"kind\": ')",
        "''",
        "'no JSON'",
        "'[]'",
        "replace(canonical, 'Z', 'z')",
    ],
    "previous_hash": [FLIPPED.format(column="previous_hash"), "'x'"],
    "hash": [FLIPPED.format(column="hash"), "''"],
}
CHAIN_COLUMNS = {
    "id": ["gen_random_uuid()"],
    "club_id": ["(SELECT c.id FROM fleet_club c WHERE c.id <> club_id LIMIT 1)"],
    "aircraft_id": ["gen_random_uuid()"],
    "length": ["length + 1", "0"],
    "head": [FLIPPED.format(column="head"), "''"],
}


def run(sql: str, *parameters: Any) -> int:
    """Past the guards, as somebody with the database's own rights could; how many rows."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(sql, parameters)
        changed: int = cursor.rowcount
        cursor.execute("SET LOCAL session_replication_role = origin")
    return changed


@contextmanager
def tampered(club: Club, *, found: bool = True) -> Iterator[None]:
    """What is done inside must be found by both verifiers (or by neither); it is undone."""
    with transaction.atomic():
        yield
        verification = events.verify(club)
        assert (not verification.valid, bool(verifier.faults(club.id))) == (found, found), verification.faults
        assert verification.valid == (not verification.faults)
        transaction.set_rollback(True)


def chosen(club: Club) -> list[Event]:
    """First, middle and last event of an aircraft's chain, the longest, and of the club's own."""
    chains = EventChain.objects.filter(club=club).order_by("-length")
    both = chains.exclude(aircraft=None)[0], chains.get(aircraft=None)
    listed = [list(chain.events.order_by("sequence")) for chain in both]
    return [chain[place] for chain in listed for place in (0, len(chain) // 2, -1)]


def test_an_untouched_record_is_valid(record: Club) -> None:
    with tampered(record, found=False):
        pass
    assert events.verify(record).checked == Event.objects.filter(club=record).count() > 30


def attempt(table: str, column: str, value: str, row: UUID) -> bool:
    """Whether the column was changed; constraints refuse some values even to a forger."""
    sql = f"UPDATE {table} SET {column} = {value} WHERE id = %s AND {column} IS DISTINCT FROM {value}"  # noqa: S608
    try:
        with transaction.atomic():
            return run(sql, row) == 1
    except (IntegrityError, DataError):
        return False


def pairs(columns: dict[str, list[str]]) -> list[tuple[str, str]]:
    return [(name, value) for name, values in columns.items() for value in values]


@pytest.mark.parametrize(("column", "value"), pairs(COLUMNS))
def test_a_changed_field_is_found(record: Club, column: str, value: str) -> None:
    assert set(COLUMNS) == {field.column for field in Event._meta.local_concrete_fields}
    changed = 0
    for event in chosen(record):
        with transaction.atomic():
            if attempt("fleet_event", column, value, event.id):
                changed += 1
                with tampered(record):
                    pass
            transaction.set_rollback(True)
    assert changed, "no event could be changed like this, so nothing was tried"


@pytest.mark.parametrize(("column", "value"), pairs(CHAIN_COLUMNS))
def test_a_changed_chain_is_found(record: Club, column: str, value: str) -> None:
    assert set(CHAIN_COLUMNS) == {field.column for field in EventChain._meta.local_concrete_fields}
    changed = 0
    for chain in EventChain.objects.filter(club=record):
        with transaction.atomic():
            if attempt("fleet_eventchain", column, value, chain.id):
                changed += 1
                with tampered(record):
                    pass
            transaction.set_rollback(True)
    assert changed


def test_two_chains_that_were_swapped_are_found(record: Club) -> None:
    first, second = EventChain.objects.filter(club=record, aircraft__isnull=False)[:2]
    with tampered(record):
        run("UPDATE fleet_eventchain SET aircraft_id = gen_random_uuid() WHERE id = %s", first.id)
        run("UPDATE fleet_eventchain SET aircraft_id = %s WHERE id = %s", first.aircraft_id, second.id)
        run("UPDATE fleet_eventchain SET aircraft_id = %s WHERE id = %s", second.aircraft_id, first.id)


def test_every_deleted_event_is_found(record: Club) -> None:
    for event in Event.objects.filter(club=record):
        with tampered(record):
            assert run("DELETE FROM fleet_event WHERE id = %s", event.id) == 1


def test_a_chain_deleted_with_its_events_is_found(record: Club) -> None:
    for chain in EventChain.objects.filter(club=record):
        with tampered(record):
            run("DELETE FROM fleet_event WHERE chain_id = %s", chain.id)
            run("DELETE FROM fleet_eventchain WHERE id = %s", chain.id)


def test_events_in_another_order_are_found(record: Club) -> None:
    for event in chosen(record):
        following = event.chain.events.filter(sequence=event.sequence + 1).first()
        if following is None:
            continue
        with tampered(record):
            for new, of in ((999, following), (following.sequence, event), (event.sequence, following)):
                run("UPDATE fleet_event SET sequence = %s WHERE id = %s", new, of.id)


@pytest.mark.parametrize("length", [1, 2, 5])
def test_a_cut_is_found(record: Club, length: int) -> None:
    for chain in EventChain.objects.filter(club=record, length__gte=length):
        with tampered(record):
            last = "SELECT id FROM fleet_event WHERE chain_id = %s ORDER BY sequence DESC LIMIT %s"
            assert run(f"DELETE FROM fleet_event WHERE id IN ({last})", chain.id, length) == length  # noqa: S608


def _rewritten(event: Event, previous: str) -> tuple[str, str]:
    told = orjson.loads(event.canonical) | {"previous_hash": previous}
    canonical = orjson.dumps(told, option=orjson.OPT_SORT_KEYS).decode()
    return canonical, hashlib.sha256(canonical.encode()).hexdigest()


def _rewrite_from(event: Event, change: Callable[[str], str]) -> str:
    """As a forger would who knows how it is made: the event and all that follow, hashed anew; the new head."""
    event.canonical = change(event.canonical)
    previous = event.previous_hash
    for one in [event, *event.chain.events.filter(sequence__gt=event.sequence).order_by("sequence")]:
        canonical, digest = _rewritten(one, previous)
        sql = "UPDATE fleet_event SET canonical = %s, previous_hash = %s, hash = %s WHERE id = %s"
        run(sql, canonical, previous, digest, one.id)
        previous = digest
    return previous


def test_a_chain_written_anew_is_found_by_its_head(record: Club) -> None:
    for event in chosen(record):
        with tampered(record):
            _rewrite_from(event, lambda text: text.replace('"data":{', '"data":{"forged":true,'))


def test_a_chain_written_anew_with_its_head_changes_the_checkpoint(record: Club) -> None:
    """Whoever kept the checkpoint elsewhere sees it; the record alone cannot know."""
    checkpoint = events.verify(record).head
    event = chosen(record)[0]
    with tampered(record, found=False):
        head = _rewrite_from(event, lambda text: text.replace('"data":{', '"data":{"forged":true,'))
        run("UPDATE fleet_eventchain SET head = %s WHERE id = %s", head, event.chain_id)
        assert events.verify(record).head != checkpoint


def test_a_cut_with_length_and_head_put_right_changes_the_checkpoint(record: Club) -> None:
    checkpoint, last = events.verify(record).head, chosen(record)[2]
    with tampered(record, found=False):
        run("DELETE FROM fleet_event WHERE id = %s", last.id)
        sql = "UPDATE fleet_eventchain SET length = length - 1, head = %s WHERE id = %s"
        run(sql, last.previous_hash, last.chain_id)
        assert events.verify(record).head != checkpoint


def test_an_aircraft_in_another_club_is_found(record: Club) -> None:
    other = Club.objects.exclude(id=record.id).get()
    for aircraft in Aircraft.objects.filter(club=record):
        with transaction.atomic():
            run("UPDATE fleet_aircraft SET club_id = %s WHERE id = %s", other.id, aircraft.id)
            assert not events.verify(other).valid
            assert verifier.faults(other.id)
            transaction.set_rollback(True)
