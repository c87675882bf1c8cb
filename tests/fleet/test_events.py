"""The event record: what a verifier finds, and that the database refuses to change it."""

import json
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.db import Error, connection, transaction

from fleet import events
from fleet.models import Aircraft, Club, Event, EventChain
from tests.factories import FOUNDED, NOW, ClubFactory, make_aircraft, released

pytestmark = pytest.mark.django_db


@pytest.fixture
def flown(aircraft: Aircraft) -> Aircraft:
    """An aircraft with some history beside a sister."""
    make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    released(aircraft)
    return aircraft


def tampered(sql: str, *values: str | UUID) -> None:
    """As somebody would who owns the database."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(sql, values)
        assert cursor.rowcount > 0
        cursor.execute("SET LOCAL session_replication_role = origin")


def test_an_untouched_record_is_valid(flown: Aircraft) -> None:
    found = events.verify(flown.club)
    assert (found.valid, found.faults) == (True, ())
    assert found.checked == Event.objects.filter(club=flown.club).count() > 20
    assert len(found.head) == 64


def middle(aircraft: Aircraft) -> Event:
    return Event.objects.get(aircraft=aircraft, sequence=5)


COLUMNS = {
    "kind": "'defect_release'",
    "recorded_at": "recorded_at - interval '1 second'",
    "by_id": "NULL",
    "subject_type": "'other'",
    "subject_id": "gen_random_uuid()",
    "canonical": "replace(canonical, 'Looked', 'Booked')",
    "previous_hash": "repeat('0', 64)",
    "hash": "repeat('0', 64)",
    "sequence": "sequence + 100",
    "aircraft_id": "NULL",
    "club_id": None,
    "chain_id": None,
}


@pytest.mark.parametrize("column", COLUMNS)
def test_a_changed_column_is_found(flown: Aircraft, column: str) -> None:
    event = Event.objects.filter(aircraft=flown, kind="defect_triage").get()
    value = COLUMNS[column]
    if column == "club_id":
        elsewhere = Club.objects.create(name="Elsewhere")
        tampered("UPDATE fleet_event SET club_id = %s WHERE id = %s", elsewhere.id, event.id)
    elif column == "chain_id":
        other = EventChain.objects.get(club=flown.club, aircraft=None)
        tampered("UPDATE fleet_event SET chain_id = %s, sequence = 900 WHERE id = %s", other.id, event.id)
    else:
        tampered(f"UPDATE fleet_event SET {column} = {value} WHERE id = %s", event.id)  # noqa: S608
    assert not events.verify(flown.club).valid


def test_every_column_of_an_event_is_tried() -> None:
    assert set(COLUMNS) == {field.column for field in Event._meta.local_fields} - {"id"}


def deleted(aircraft: Aircraft) -> None:
    tampered("DELETE FROM fleet_event WHERE id = %s", middle(aircraft).id)


def cut(aircraft: Aircraft) -> None:
    last = Event.objects.filter(aircraft=aircraft).order_by("-sequence")[0]
    tampered("DELETE FROM fleet_event WHERE id = %s", last.id)


def swapped(aircraft: Aircraft) -> None:
    one, other = middle(aircraft), Event.objects.get(aircraft=aircraft, sequence=6)
    tampered("UPDATE fleet_event SET sequence = 99 WHERE id = %s", one.id)
    tampered("UPDATE fleet_event SET sequence = 5 WHERE id = %s", other.id)
    tampered("UPDATE fleet_event SET sequence = 6 WHERE id = %s", one.id)


def rehashed(aircraft: Aircraft) -> None:
    """Changed with a hash that fits, but the successor still names the old one."""
    event = middle(aircraft)
    changed = event.canonical.replace('"kind"', '"kinds"')
    sql = "UPDATE fleet_event SET canonical = %s, hash = %s WHERE id = %s"
    tampered(sql, changed, events.digest(changed), event.id)


def emptied(aircraft: Aircraft) -> None:
    tampered("DELETE FROM fleet_event WHERE aircraft_id = %s", aircraft.id)


def unchained(aircraft: Aircraft) -> None:
    emptied(aircraft)
    tampered("DELETE FROM fleet_eventchain WHERE aircraft_id = %s", aircraft.id)


@pytest.mark.parametrize("done", [deleted, cut, swapped, rehashed, emptied, unchained])
def test_missing_reordered_or_rewritten_events_are_found(flown: Aircraft, done: Callable[[Aircraft], None]) -> None:
    head = events.verify(flown.club).head
    done(flown)
    found = events.verify(flown.club)
    assert not found.valid
    assert found.faults
    assert (found.head != head) is (done is unchained)  # the other faults lie beneath an unchanged head


def test_one_clubs_record_is_not_anothers(flown: Aircraft) -> None:
    other = make_aircraft(make_aircraft(flown.club).club)
    tampered("DELETE FROM fleet_event WHERE aircraft_id = %s", other.id)
    elsewhere = ClubFactory.create(name="Elsewhere")
    assert events.verify(elsewhere).valid
    assert not events.verify(flown.club).valid


@pytest.mark.parametrize(
    "sql",
    ["UPDATE fleet_event SET kind = 'x'", "DELETE FROM fleet_event", "TRUNCATE fleet_event CASCADE"],
)
def test_the_database_refuses_to_change_it(flown: Aircraft, sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # checks that still wait would forbid TRUNCATE for themselves
        with pytest.raises(Error, match="pgtrigger: Cannot"), transaction.atomic():
            cursor.execute(sql)
    assert events.verify(flown.club).valid


def test_each_chain_counts_from_one_and_names_its_predecessor(flown: Aircraft) -> None:
    for chain in EventChain.objects.filter(club=flown.club):
        listed = list(chain.events.order_by("sequence"))
        assert [event.sequence for event in listed] == list(range(1, chain.length + 1))
        assert [event.previous_hash for event in listed] == ["", *(event.hash for event in listed[:-1])]
        assert chain.head == listed[-1].hash


def test_what_is_hashed_says_who_what_when_and_of_what(flown: Aircraft) -> None:
    event = Event.objects.get(aircraft=flown, kind="defect_triage")
    told = json.loads(event.canonical)
    assert event.by is not None
    assert told["by"] == str(event.by_id)
    assert told["by_name"] == event.by.person.full_name
    assert told["recorded_at"] == "2025-05-14T09:01:00Z"
    assert told["subject"] == {"type": "defect", "id": str(event.subject_id)}
    assert told["data"]["assessment"] == "no_hazard"
    assert told["sequence"] == event.sequence


def test_one_spelling_for_one_content() -> None:
    one = uuid4()
    first = {"b": [1, None, True], "a": {"z": Decimal("2.50"), "id": one}, "at": NOW}
    second = {"at": NOW.astimezone(FOUNDED.tzinfo), "a": {"id": str(one), "z": "2.50"}, "b": [1, None, True]}
    assert events.canonical_json(first) == events.canonical_json(second)
    later = first | {"at": NOW + timedelta(microseconds=1)}
    assert events.canonical_json(first) != events.canonical_json(later)


def test_what_cannot_be_spelt_is_refused() -> None:
    with pytest.raises(TypeError):
        events.canonical_json({"a": object()})
