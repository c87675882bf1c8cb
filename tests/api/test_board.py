"""The board: one page of data about the whole fleet, in a constant number of queries."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.models import Aircraft, AircraftType, AirworthinessState
from tests.api.cast import Cast, change, make_cast
from tests.api.clients import anonymous, client_of, problem
from tests.factories import (
    FOUNDED,
    MemberFactory,
    deferred,
    fresh,
    make_aircraft,
    make_type,
    reported,
)

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/board"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def board(cast: Cast, query: str = "") -> list[dict[str, Any]]:
    answer = cast.pilot.get(f"{ADDRESS}{query}")
    assert answer.status_code == 200, answer.content
    results: list[dict[str, Any]] = answer.json()["results"]
    return results


def test_an_empty_fleet(cast: Cast) -> None:
    before = timezone.now()
    body = cast.pilot.get(ADDRESS).json()
    assert body["results"] == []
    assert before <= datetime.fromisoformat(body["as_of"]) <= timezone.now()


def test_every_aircraft_by_registration_with_what_is_shown_for_it(cast: Cast) -> None:
    grounded = make_aircraft(cast.club, registration="ZZ-B2")
    defect = reported(grounded, critical=True)
    limited = make_aircraft(cast.club, registration="ZZ-A1")
    deferred(limited, at=timezone.now() - timedelta(minutes=5))
    make_aircraft(cast.club, registration="ZZ-C3", inspected_at=timezone.now())
    listed = board(cast)
    assert [one["registration"] for one in listed] == ["ZZ-A1", "ZZ-B2", "ZZ-C3"]
    assert [one["status"] for one in listed] == ["limited", "grounded", "serviceable"]
    assert [one["ready_today"] for one in listed] == [False, False, True]
    assert [one["open_defects"] for one in listed] == [1, 1, 0]
    assert listed[0]["limitations"] == ["no aerobatics"]
    assert listed[1]["reasons"][0]["subject"] == {"type": "defect", "id": str(defect.id)}
    assert listed[1]["aircraft_type"] == grounded.aircraft_type.designation
    assert listed[1]["aircraft_type_id"] == str(grounded.aircraft_type_id)


def test_the_row_agrees_with_the_aircraft(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    deferred(aircraft, at=timezone.now() - timedelta(minutes=5))
    (row,) = board(cast)
    alone = cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/airworthiness").json()
    shared = ("aircraft", "registration", "status", "ready_today", "reasons", "limitations")
    assert {name: row[name] for name in shared} == {name: alone[name] for name in shared}
    assert row["next_due"].keys() == {"title", "on", "subject"}


def bare_fleet(of_type: AircraftType, count: int) -> None:
    """Aircraft with a stored verdict that holds, written at one stroke."""
    fleet = Aircraft.objects.bulk_create(
        Aircraft(
            club=of_type.club,
            aircraft_type=of_type,
            registration=f"ZZ-F{number}",
            serial_number=str(number),
            created_at=FOUNDED,
        )
        for number in range(count)
    )
    AirworthinessState.objects.bulk_create(
        AirworthinessState(
            aircraft=one,
            assessed_at=FOUNDED,
            shown_from=FOUNDED,
            status="grounded",
            ready_today=False,
            reasons=[],
            open_defects=0,
        )
        for one in fleet
    )


@pytest.mark.parametrize("size", [1, 20, 100])
def test_at_most_three_queries_at_any_size_with_the_first_use_of_a_token(
    cast: Cast, size: int, django_assert_max_num_queries: Any
) -> None:
    bare_fleet(make_type(cast.club), size)
    with django_assert_max_num_queries(3):  # token, note of its use, board
        answer = cast.pilot.get(ADDRESS)
    assert len(answer.json()["results"]) == size
    with django_assert_max_num_queries(2):
        cast.pilot.get(ADDRESS)
    with django_assert_max_num_queries(2):
        assert cast.pilot.get(ADDRESS, headers={"If-None-Match": answer["ETag"]}).status_code == 304
    with django_assert_max_num_queries(3):
        assert cast.pilot.get(ADDRESS, headers={"If-None-Match": '"other"'}).status_code == 200


def test_not_modified_until_something_shown_changes(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    make_aircraft(cast.club)
    tag = cast.pilot.get(ADDRESS)["ETag"]
    again = cast.pilot.get(ADDRESS, headers={"If-None-Match": tag})
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", tag)

    def tag_now() -> str:
        answer = cast.pilot.get(ADDRESS, headers={"If-None-Match": tag})
        assert answer.status_code == 200
        return str(answer["ETag"])

    reported(aircraft)
    tags = [tag, tag_now()]
    assert change(cast.officer, f"/api/v1/aircraft/{aircraft.id}", {"registration": "ZZ-Z9"}).status_code == 200
    tags.append(tag_now())
    of_type = f"/api/v1/aircraft-types/{aircraft.aircraft_type_id}"
    assert change(cast.officer, of_type, {"designation": "Kite renamed"}).status_code == 200
    tags.append(tag_now())
    assert len(set(tags)) == len(tags)


def test_a_verdict_that_has_run_out_is_never_shown(cast: Cast) -> None:
    late, calm = make_aircraft(cast.club, registration="ZZ-A1"), make_aircraft(cast.club, registration="ZZ-B2")
    reported(late, at=timezone.now() - timedelta(days=4))  # untriaged for longer than the club permits
    assert fresh(late).airworthiness.status == "limited"
    answer = cast.pilot.get(ADDRESS)
    assert [one["status"] for one in answer.json()["results"]] == ["grounded", "serviceable"]
    assert cast.pilot.get(ADDRESS, headers={"If-None-Match": answer["ETag"]}).status_code == 304
    assert [one["registration"] for one in board(cast, "?status=grounded")] == ["ZZ-A1"]
    assert board(cast, "?status=limited") == []
    assert [one["aircraft"] for one in board(cast, "?status=serviceable")] == [str(calm.id)]


def test_a_verdict_that_runs_out_ends_not_modified(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    reported(aircraft)
    state = AirworthinessState.objects.filter(aircraft=aircraft)
    state.update(valid_until=timezone.now() + timedelta(days=1))
    tag = cast.pilot.get(ADDRESS)["ETag"]
    assert cast.pilot.get(ADDRESS, headers={"If-None-Match": tag}).status_code == 304
    state.update(valid_until=timezone.now() - timedelta(seconds=1))
    answer = cast.pilot.get(ADDRESS, headers={"If-None-Match": tag})
    assert answer.status_code == 200
    assert answer.json()["results"][0]["status"] == "grounded"


def test_verdicts_that_have_run_out_cost_a_constant_number_of_queries(cast: Cast) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            board(cast)
        return len(queries)

    board(cast)  # notes the use of the token
    counts = []
    for _ in range(3):
        reported(make_aircraft(cast.club), at=timezone.now() - timedelta(days=4))
        counts.append(asked())
    assert counts[0] == counts[1] == counts[2] <= 20


def test_an_aircraft_without_a_stored_verdict_is_judged(cast: Cast) -> None:
    bare_fleet(make_type(cast.club), 1)
    AirworthinessState.objects.all().delete()
    assert [one["status"] for one in board(cast)] == ["grounded"]


def test_only_ones_own_club(cast: Cast) -> None:
    make_aircraft(cast.club)
    other = make_cast()
    assert board(other) == []
    assert len(board(cast)) == 1


def test_everybody_of_the_club_reads_and_nobody_else(cast: Cast) -> None:
    assert all(program.get(ADDRESS).status_code == 200 for program in cast.programs.values())
    problem(anonymous().get(ADDRESS), 401, "not_authenticated")
    problem(cast.officer.post(ADDRESS, {}), 405, "method_not_allowed")
    member = MemberFactory.create(club=cast.club)
    program = client_of(member)
    assert program.get(ADDRESS).status_code == 200
    member.active = False
    member.save()
    problem(program.get(ADDRESS), 401, "not_authenticated")


def test_unknown_statuses_and_parameters_are_refused(cast: Cast) -> None:
    problem(cast.pilot.get(f"{ADDRESS}?status=airworthy"), 422, "invalid")
    problem(cast.pilot.get(f"{ADDRESS}?limit=5"), 422, "invalid")
