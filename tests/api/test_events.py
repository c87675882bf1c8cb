"""The record over HTTP: whoever reads it can check it."""

import hashlib
import json
from datetime import datetime
from typing import Any

import pytest
from django.db import connection

from fleet.models import Aircraft, Event, Role
from tests.api.cast import Cast, make_cast, not_there
from tests.api.clients import anonymous, problem
from tests.factories import make_aircraft, released

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/events"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    aircraft = make_aircraft(cast.club)
    released(aircraft, critical=True)
    return aircraft


def everything(cast: Cast, query: str = "limit=20") -> list[dict[str, Any]]:
    listed, address = [], f"{ADDRESS}?{query}"
    while address:
        page = cast.auditor.get(address).json()
        listed += page["results"]
        address = page["next"]
    return listed


def test_every_event_once_oldest_first(cast: Cast, aircraft: Aircraft) -> None:
    listed = everything(cast)
    assert len(listed) == len({one["id"] for one in listed}) == Event.objects.filter(club=cast.club).count()
    times = [datetime.fromisoformat(one["recorded_at"]) for one in listed]
    assert times == sorted(times)
    assert everything(cast, "ordering=-recorded_at") == listed[::-1]


def test_a_reader_verifies_the_chains_alone(cast: Cast, aircraft: Aircraft) -> None:
    """With nothing but the answers: hash each canonical text, follow each chain, compare every field with the text."""
    last: dict[str, tuple[int, str]] = {}
    for event in sorted(everything(cast), key=lambda one: one["sequence"]):
        told = json.loads(event["canonical"])
        assert hashlib.sha256(event["canonical"].encode()).hexdigest() == event["hash"]
        assert (event["sequence"] - 1, event["previous_hash"]) == last.get(event["chain"], (0, ""))
        assert event["by"] == (told["by"] and {"id": told["by"], "name": told["by_name"]})
        for name in ("chain", "aircraft", "sequence", "kind", "subject", "data", "previous_hash", "recorded_at"):
            assert told[name] == event[name]
        last[event["chain"]] = (event["sequence"], event["hash"])
    assert len(last) == 2  # the club's own chain, and the aircraft's


def test_filters(cast: Cast, aircraft: Aircraft) -> None:
    assert {one["aircraft"] for one in everything(cast, f"aircraft={aircraft.id}")} == {str(aircraft.id)}
    (release,) = everything(cast, "kind=defect_release")
    about = everything(cast, f"subject={release['subject']['id']}")
    assert about[0]["kind"] == "defect_report"
    assert release in about
    later = everything(cast, "recorded_after=2025-05-14T09:05:00Z")
    assert {one["kind"] for one in later} == {"defect_release", "airworthiness_changed"}


def test_one_event(cast: Cast, aircraft: Aircraft) -> None:
    one = everything(cast)[0]
    assert cast.pilot.get(f"{ADDRESS}/{one['id']}").json() == one


def test_the_whole_record_is_verified(cast: Cast, aircraft: Aircraft) -> None:
    body = cast.auditor.get(f"{ADDRESS}/verify").json()
    assert body["valid"] is True
    assert body["faults"] == []
    assert body["checked"] == Event.objects.filter(club=cast.club).count()
    assert len(body["head"]) == 64


def test_a_change_behind_the_triggers_is_found(cast: Cast, aircraft: Aircraft) -> None:
    before = cast.auditor.get(f"{ADDRESS}/verify").json()
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(
            "UPDATE fleet_event SET kind = 'defect_triage' WHERE kind = 'defect_release' AND club_id = %s",
            [cast.club.id],
        )
        cursor.execute("SET LOCAL session_replication_role = origin")
    after = cast.auditor.get(f"{ADDRESS}/verify").json()
    assert after["valid"] is False
    assert after["head"] == before["head"]
    (fault,) = after["faults"]
    assert "was changed" in fault


def test_only_ones_own_club(cast: Cast, aircraft: Aircraft) -> None:
    other = make_cast()
    theirs = everything(other)
    assert theirs
    assert not {one["id"] for one in theirs} & {one["id"] for one in everything(cast)}
    assert everything(other, f"aircraft={aircraft.id}") == []
    not_there(other.auditor, f"{ADDRESS}/{everything(cast)[0]['id']}")
    assert other.auditor.get(f"{ADDRESS}/verify").json()["checked"] == len(theirs)


def test_every_member_reads_and_nobody_writes(cast: Cast) -> None:
    assert all(program.get(ADDRESS).status_code == 200 for program in cast.programs.values())
    problem(anonymous().get(ADDRESS), 401, "not_authenticated")
    for method in ("post", "patch", "delete"):
        problem(getattr(cast.programs[Role.ADMINISTRATOR], method)(ADDRESS), 405, "method_not_allowed")


def test_constant_queries(cast: Cast, aircraft: Aircraft, django_assert_num_queries: Any) -> None:
    cast.auditor.get(ADDRESS)  # notes the use of the token
    with django_assert_num_queries(2):  # token, events
        cast.auditor.get(f"{ADDRESS}?limit=200")
