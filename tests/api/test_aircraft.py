"""Aircraft over HTTP."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet import events
from fleet.models import Aircraft, AirworthinessState, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import AircraftTypeFactory, fresh, make_aircraft, reported

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/aircraft"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def body_for(cast: Cast, **changes: Any) -> dict[str, Any]:
    of_type = AircraftTypeFactory.create(club=cast.club)
    body = {"registration": "ZZ-K01", "serial_number": "104", "aircraft_type": str(of_type.id), "base": "East field"}
    return body | changes


def test_a_new_aircraft_is_grounded_until_its_documents_are_there(cast: Cast) -> None:
    body = body_for(cast)
    made = created(cast.officer, ADDRESS, body)
    assert made.items() >= body.items()
    assert (made["status"], made["ready_today"]) == ("grounded", False)
    verdict = made["airworthiness"]
    assert (verdict["status"], verdict["ready_today"]) == ("grounded", False)
    assert {reason["rule"] for reason in verdict["reasons"]} == {"document_expired"}
    assert all(reason["cure"] for reason in verdict["reasons"])


def test_registering_begins_the_chain_and_the_periods(cast: Cast) -> None:
    made = created(cast.officer, ADDRESS, body_for(cast))
    periods = cast.pilot.get(f"{ADDRESS}/{made['id']}/assessments").json()["results"]
    assert [(one["from"], one["to"], one["status"]) for one in periods] == [(made["created_at"], None, "grounded")]
    assert events.verify(cast.club).valid


# ICAO Annex 7, sections 3 and 4 (from memory, reproduced): marks, hyphen, groups that are not used
@pytest.mark.parametrize("mark", ["zz-k01", "ZZ K01", "ZZ-", "ZZ-SOS", "ZZ-QAB", "ZZ-K0123456", "ZZ-K01\n-"])
def test_a_mark_that_is_none_is_refused(cast: Cast, mark: str) -> None:
    answer = problem(cast.officer.post(ADDRESS, body_for(cast, registration=mark)), 422, "invalid")
    assert set(pointers(answer)) == {"/registration"}
    assert not Aircraft.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"serial_number": ""}, "/serial_number", "blank"),
        ({"serial_number": 104}, "/serial_number", "invalid"),
        ({"base": "x" * 81}, "/base", "max_length"),
        ({"aircraft_type": "kite"}, "/aircraft_type", "invalid"),
        ({"aircraft_type": None}, "/aircraft_type", "null"),
        ({"status": "serviceable"}, "/status", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    answer = problem(cast.officer.post(ADDRESS, body_for(cast, **wrong)), 422, "invalid")
    assert pointers(answer) == {pointer: code}


def test_a_type_of_another_club_is_not_there(cast: Cast) -> None:
    foreign = AircraftTypeFactory.create()
    answer = problem(cast.officer.post(ADDRESS, body_for(cast, aircraft_type=str(foreign.id))), 404, "not_found")
    assert pointers(answer) == {"/aircraft_type": "not_found"}


def test_marks_and_serial_numbers_are_there_once(cast: Cast) -> None:
    body = body_for(cast)
    created(cast.officer, ADDRESS, body)
    problem(cast.officer.post(ADDRESS, {**body, "serial_number": "105"}), 409, "conflict")
    problem(cast.officer.post(ADDRESS, {**body, "registration": "ZZ-K02"}), 409, "conflict")
    other = make_cast()
    created(other.officer, ADDRESS, body_for(other))


def test_the_clients_own_id(cast: Cast) -> None:
    body = body_for(cast, id=str(uuid4()))
    made = created(cast.officer, ADDRESS, body)
    assert made["id"] == body["id"]
    again = cast.officer.post(ADDRESS, body)
    assert (again.status_code, again.json()) == (200, made)
    problem(cast.officer.post(ADDRESS, {**body, "base": "West field"}), 409, "id_taken")
    assert Aircraft.objects.count() == 1


def test_only_keepers_write(cast: Cast) -> None:
    keepers = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}
    only_for(cast, keepers, "post", ADDRESS, body_for(cast))
    only_for(cast, keepers, "patch", f"{ADDRESS}/{make_aircraft(cast.club).id}", {"base": "x"})


def test_changes_need_the_current_version_and_answer_the_verdict(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    guarded(cast.officer, f"{ADDRESS}/{aircraft.id}", {"registration": "ZZ-K09", "base": ""})
    answer = change(cast.officer, f"{ADDRESS}/{aircraft.id}", {"serial_number": "7"}).json()
    assert answer["airworthiness"]["status"] == answer["status"] == "serviceable"


def test_a_change_of_status_makes_the_version_stale(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    before = cast.officer.get(f"{ADDRESS}/{aircraft.id}")
    reported(aircraft, critical=True)
    answer = cast.officer.patch(f"{ADDRESS}/{aircraft.id}", {"base": "x"}, headers={"If-Match": before["ETag"]})
    problem(answer, 412, "stale")


@pytest.mark.parametrize("wrong", [{"registration": "ZZ"}, {"registration": ""}, {"aircraft_type": str(uuid4())}])
def test_a_wrong_change_changes_nothing(cast: Cast, wrong: dict[str, Any]) -> None:
    address = f"{ADDRESS}/{make_aircraft(cast.club).id}"
    before = cast.officer.get(address).content
    assert set(pointers(problem(change(cast.officer, address, wrong), 422, "invalid"))) == {f"/{next(iter(wrong))}"}
    assert cast.officer.get(address).content == before


def test_another_club_sees_and_changes_nothing(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    other = make_cast().officer
    one = f"{ADDRESS}/{aircraft.id}"
    not_there(other, one, f"{one}/airworthiness", f"{one}/assessments", f"{one}/history", f"{ADDRESS}/{uuid4()}")
    problem(other.patch(one, {"base": "x"}, headers={"If-Match": "*"}), 404, "not_found")
    assert other.get(ADDRESS).json()["results"] == []
    assert other.get(f"{ADDRESS}?registration={aircraft.registration}").json()["results"] == []


def test_filters(cast: Cast) -> None:
    fit, grounded = make_aircraft(cast.club, registration="ZZ-A1"), make_aircraft(cast.club, registration="ZZ-B2")
    reported(grounded, critical=True)

    def marks(query: str) -> list[str]:
        return [one["registration"] for one in cast.pilot.get(f"{ADDRESS}?{query}").json()["results"]]

    assert marks("registration=zz-a1") == ["ZZ-A1"]
    assert marks("status=serviceable") == ["ZZ-A1"]
    assert marks("status=grounded") == ["ZZ-B2"]
    assert marks("status=limited") == []
    assert marks(f"aircraft_type={fit.aircraft_type_id}") == ["ZZ-A1"]
    assert marks("ordering=-registration") == ["ZZ-B2", "ZZ-A1"]
    problem(cast.pilot.get(f"{ADDRESS}?status=airworthy"), 422, "invalid")


def run_out(aircraft: Aircraft) -> None:
    """As if time had changed the verdict an hour ago and no job had noticed: an untriaged defect grounds by now."""
    reported(aircraft, at=timezone.now() - timedelta(days=4))
    state = AirworthinessState.objects.get(aircraft=aircraft)
    assert state.status == "limited"
    assert state.valid_until is not None
    assert state.valid_until < timezone.now()


def test_a_verdict_that_has_run_out_is_never_shown(cast: Cast) -> None:
    late, calm = make_aircraft(cast.club), make_aircraft(cast.club)
    run_out(late)
    assert cast.pilot.get(f"{ADDRESS}/{late.id}").json()["status"] == "grounded"
    listed = {one["id"]: one["status"] for one in cast.pilot.get(ADDRESS).json()["results"]}
    assert listed == {str(late.id): "grounded", str(calm.id): "serviceable"}
    for status, expected in (("limited", []), ("grounded", [str(late.id)]), ("serviceable", [str(calm.id)])):
        found = cast.pilot.get(f"{ADDRESS}?status={status}").json()["results"]
        assert [one["id"] for one in found] == expected
    assert AirworthinessState.objects.get(aircraft=late).status == "limited"  # reading writes nothing


def test_a_change_brings_the_verdict_up_to_now(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    run_out(aircraft)
    guarded(cast.officer, f"{ADDRESS}/{aircraft.id}", {"base": "x"})
    assert fresh(aircraft).airworthiness.status == "grounded"


def queries_of(cast: Cast, address: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert cast.pilot.get(address).status_code == 200
    return len(asked)


def test_the_list_asks_the_same_number_of_queries_for_any_fleet(cast: Cast) -> None:
    of_type = make_aircraft(cast.club).aircraft_type
    cast.pilot.get(ADDRESS)  # notes the use of the token
    for _ in range(3):
        assert queries_of(cast, ADDRESS) == 2  # token, aircraft
        make_aircraft(cast.club, aircraft_type=of_type)


@pytest.mark.parametrize("address", [ADDRESS, f"{ADDRESS}?status=grounded"])
def test_verdicts_that_have_run_out_cost_a_constant_number_of_queries(cast: Cast, address: str) -> None:
    run_out(make_aircraft(cast.club))
    cast.pilot.get(address)
    with_one = queries_of(cast, address)
    run_out(make_aircraft(cast.club))
    run_out(make_aircraft(cast.club))
    assert queries_of(cast, address) == with_one <= 25
