"""Components over HTTP."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import Aircraft, Component, ComponentKind, Position, Role
from fleet.services import installing
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import make_aircraft, make_component, make_kind, make_position
from tests.fleet.flying import flown, opened

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/components"
FITTERS = {Role.TECHNICAL_OFFICER, Role.INSPECTOR}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    made = make_aircraft(cast.club)
    opened(made)
    return made


@pytest.fixture
def kind(cast: Cast) -> ComponentKind:
    return make_kind(cast.club, designation="Tow release", part_number="TR-9")


@pytest.fixture
def nose(aircraft: Aircraft, kind: ComponentKind) -> Position:
    return make_position(aircraft.aircraft_type, kind, code="nose", title="Nose")


def body_for(kind: ComponentKind, /, **changes: Any) -> dict[str, Any]:
    body = {
        "kind": str(kind.id),
        "serial_number": "R-2071",
        "manufactured_on": "2024-01-19",
        "release_document": "Form 1 no. 118-26",
        "history_known": True,
        "brought_forward": {
            "airframe_minutes": 600,
            "launches": 310,
            "landings": 310,
            "engine_minutes": None,
            "engine_starts": None,
            "cycles": None,
        },
    }
    return body | changes


def now() -> str:
    return timezone.now().isoformat()


def install(program: Any, component: Any, place: Aircraft | Any, position: Position, **changes: Any) -> Any:
    into = {"aircraft": str(place.id)} if isinstance(place, Aircraft) else {"parent": str(place)}
    body = {**into, "position": str(position.id), "installed_at": now()} | changes
    return program.post(f"{ADDRESS}/{component}/install", body)


def test_a_component_is_taken_in(cast: Cast, kind: ComponentKind) -> None:
    made = created(cast.officer, ADDRESS, body_for(kind))
    assert made.items() >= body_for(kind).items()
    assert (made["designation"], made["part_number"]) == ("Tow release", "TR-9")
    assert made["since_new"] == made["brought_forward"]
    assert (made["since_overhaul"], made["overhauled_on"]) == (None, None)
    assert made["unknown_because"] == "Not known when it came: engine minutes, engine starts, cycles."
    assert (made["condition"], made["installed"], made["aircraft"]) == ("serviceable", None, None)
    assert made["recorded_by"]["id"] == str(cast.members[Role.TECHNICAL_OFFICER].id)


def test_the_same_id_and_content_again_answers_the_first_answer(cast: Cast, kind: ComponentKind) -> None:
    body = body_for(kind, id=str(uuid4()))
    first = cast.officer.post(ADDRESS, body)
    again = cast.officer.post(ADDRESS, body)
    assert (first.status_code, again.status_code, again.content) == (201, 200, first.content)
    problem(cast.officer.post(ADDRESS, body | {"serial_number": "other"}), 409, "id_taken")
    assert Component.objects.count() == 1


@pytest.mark.parametrize(
    ("said", "known"),
    [
        ({}, False),
        ({"brought_forward": {}}, False),
        ({"brought_forward": {"launches": None}}, False),
        ({"brought_forward": {"launches": 0}}, True),
        ({"history_known": True}, True),
    ],
)
def test_nothing_said_is_nothing_known(cast: Cast, kind: ComponentKind, said: dict[str, Any], known: bool) -> None:
    """ML.A.504(a): without history it is unserviceable (check value T72)."""
    made = created(cast.officer, ADDRESS, {"kind": str(kind.id), "serial_number": "1", **said})
    assert made["history_known"] is known
    assert made["condition"] == ("serviceable" if known else "unserviceable")
    assert made["since_new"]["airframe_minutes"] is None
    if not known:
        assert made["unknown_because"] == "Its history is not known."


def test_an_unknown_history_is_not_installed(
    cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position
) -> None:
    made = created(cast.officer, ADDRESS, {"kind": str(kind.id), "serial_number": "1"})
    refusal = problem(install(cast.officer, made["id"], aircraft, nose), 409, "conflict")
    assert (refusal["code"], refusal["current"]) == ("unserviceable", {"condition": "unserviceable"})


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"serial_number": " "}, "/serial_number", "blank"),
        ({"manufactured_on": "2999-01-01"}, "/manufactured_on", "in_future"),
        ({"brought_forward": {"launches": -1}}, "/brought_forward/launches", "min_value"),
        ({"brought_forward": {"launches": "1"}}, "/brought_forward/launches", "invalid"),
        ({"brought_forward": {"starts": 1}}, "/brought_forward/starts", "unknown_field"),
        ({"history_known": False}, "/history_known", "contradiction"),
        ({"condition": "serviceable"}, "/condition", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(
    cast: Cast, kind: ComponentKind, wrong: dict[str, Any], pointer: str, code: str
) -> None:
    body = problem(cast.officer.post(ADDRESS, body_for(kind, **wrong)), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not Component.objects.exists()


def test_a_serial_number_is_taken_once(cast: Cast, kind: ComponentKind) -> None:
    created(cast.officer, ADDRESS, body_for(kind))
    again = problem(cast.officer.post(ADDRESS, body_for(kind)), 409, "conflict")
    assert again["detail"] == "There is a component of this kind with this serial number. Use that one."
    problem(cast.officer.post(ADDRESS, body_for(kind, kind=str(uuid4()))), 404, "not_found")


def test_in_and_out_with_the_verdict(cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position) -> None:
    component = make_component(kind)
    went_in = timezone.now()
    done = install(cast.officer, component.id, aircraft, nose, installed_at=went_in.isoformat())
    assert done.status_code == 201, done.content
    body = done.json()
    assert body["airworthiness"].keys() == {"status", "ready_today", "reasons", "limitations"}
    assert (body["aircraft"], body["registration"]) == (str(aircraft.id), aircraft.registration)
    assert body["installed"]["position"] == {"id": str(nose.id), "code": "nose", "title": "Nose"}
    assert body["installed"]["meter_in"]["airframe_minutes"] == 0
    found = cast.pilot.get(done["Location"])
    assert found["ETag"] == done["ETag"]
    gone = cast.programs[Role.INSPECTOR].post(
        f"{ADDRESS}/{component.id}/remove", {"removed_at": now(), "reason": "Springs weak", "unserviceable": True}
    )
    assert gone.status_code == 201, gone.content
    assert gone.json()["airworthiness"]["status"] == "serviceable"
    assert (gone.json()["installed"], gone.json()["aircraft"]) == (None, None)
    assert (gone.json()["condition"], gone.json()["condition_reason"]) == ("unserviceable", "Springs weak")


def test_into_a_component_on_the_bench_no_aircraft_is_concerned(cast: Cast, kind: ComponentKind) -> None:
    whole = make_component(kind)
    spring = make_component(make_kind(cast.club, designation="Spring"))
    seat = make_position(kind, spring.kind)
    done = install(cast.officer, spring.id, whole.id, seat)
    assert done.status_code == 201, done.content
    assert done.json()["airworthiness"] is None
    assert (done.json()["aircraft"], done.json()["installed"]["parent"]) == (None, str(whole.id))
    assert done.json()["installed"]["parent_serial_number"] == whole.serial_number
    gone = cast.officer.post(f"{ADDRESS}/{spring.id}/remove", {"removed_at": now(), "reason": "Exchanged"})
    assert gone.json()["airworthiness"] is None


def test_conflicts_say_what_is_in_the_way(cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position) -> None:
    first, second = make_component(kind), make_component(kind)
    gone = cast.officer.post(f"{ADDRESS}/{first.id}/remove", {"removed_at": now(), "reason": "x"})
    assert problem(gone, 409, "conflict")["code"] == "not_installed"
    there = install(cast.officer, first.id, aircraft, nose).json()["installed"]["id"]
    refusal = problem(install(cast.officer, second.id, aircraft, nose), 409, "conflict")
    assert (refusal["code"], refusal["current"]["installation"]) == ("position_taken", there)
    refusal = problem(install(cast.officer, first.id, aircraft, nose), 409, "conflict")
    assert refusal["code"] in {"position_taken", "installed_elsewhere"}


def test_acts_honour_a_version(cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position) -> None:
    component = make_component(kind)
    body = {"aircraft": str(aircraft.id), "position": str(nose.id), "installed_at": now()}
    address = f"{ADDRESS}/{component.id}"
    tag = cast.officer.get(address)["ETag"]
    problem(cast.officer.post(f"{address}/install", body, headers={"If-Match": '"old"'}), 412, "stale")
    assert cast.officer.post(f"{address}/install", body, headers={"If-Match": tag}).status_code == 201
    gone = {"removed_at": now(), "reason": "x"}
    problem(cast.officer.post(f"{address}/remove", gone, headers={"If-Match": tag}), 412, "stale")


def test_an_overhaul_starts_time_since_overhaul(cast: Cast, kind: ComponentKind) -> None:
    component = make_component(kind, brought_forward={"launches": 2000})
    body = {"done_on": "2025-02-03", "release_document": "Form 1 no. 7"}
    done = cast.officer.post(f"{ADDRESS}/{component.id}/overhaul", body)
    assert done.status_code == 201, done.content
    assert done.json()["overhauled_on"] == "2025-02-03"
    assert (done.json()["since_new"]["launches"], done.json()["since_overhaul"]["launches"]) == (2000, 0)
    problem(cast.officer.post(f"{ADDRESS}/{component.id}/overhaul", {"done_on": "2025-02-03"}), 422, "invalid")


def test_a_correction_with_the_verdict(cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position) -> None:
    component = make_component(kind)
    install(cast.officer, component.id, aircraft, nose)
    done = change(
        cast.officer,
        f"{ADDRESS}/{component.id}",
        {"brought_forward": {"launches": 9}, "release_document": "F1-2", "manufactured_on": "2020-02-02"},
    )
    assert done.status_code == 200, done.content
    body = done.json()
    assert (body["since_new"]["launches"], body["since_new"]["landings"]) == (9, 0)
    assert (body["release_document"], body["manufactured_on"]) == ("F1-2", "2020-02-02")
    assert body["airworthiness"]["status"] == "serviceable"


def test_a_condition_is_an_inspectors_with_a_reason(cast: Cast, kind: ComponentKind) -> None:
    address, inspector = f"{ADDRESS}/{make_component(kind).id}", cast.programs[Role.INSPECTOR]
    declared = {"condition": "unserviceable", "reason": "Dropped"}
    problem(change(cast.officer, address, declared), 403, "forbidden")
    assert pointers(problem(change(inspector, address, {"condition": "retired"}), 422, "invalid")) == {
        "/reason": "required"
    }
    assert pointers(problem(change(inspector, address, {"reason": "x"}), 422, "invalid")) == {"/condition": "required"}
    done = change(inspector, address, declared).json()
    assert (done["condition"], done["condition_reason"], done["airworthiness"]) == ("unserviceable", "Dropped", None)
    both = change(inspector, address, {"condition": "serviceable", "reason": "Tested", "release_document": "F1-3"})
    assert (both.json()["condition"], both.json()["release_document"]) == ("serviceable", "F1-3")


def test_changes_need_the_current_version(cast: Cast, kind: ComponentKind) -> None:
    guarded(cast.officer, f"{ADDRESS}/{make_component(kind).id}", {"release_document": "new"})


def test_filters(cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position) -> None:
    engine, spare, other = make_component(kind), make_component(kind), make_component(make_kind(cast.club))
    spring = make_component(make_kind(cast.club, designation="Spring"), history_known=False, brought_forward={})
    seat = make_position(kind, other.kind)
    install(cast.officer, engine.id, aircraft, nose)
    install(cast.officer, other.id, engine.id, seat)

    def found(query: str) -> set[str]:
        answer = cast.pilot.get(f"{ADDRESS}?{query}")
        assert answer.status_code == 200, answer.content
        return {one["id"] for one in answer.json()["results"]}

    def ids(*listed: Component) -> set[str]:
        return {str(one.id) for one in listed}

    assert found("") == ids(engine, spare, other, spring)
    assert found(f"kind={kind.id}") == ids(engine, spare)
    assert found(f"serial_number={spare.serial_number}") == ids(spare)
    assert found("condition=unserviceable") == ids(spring)
    assert found(f"aircraft={aircraft.id}") == ids(engine, other)
    assert found(f"aircraft={uuid4()}") == set()
    assert found("installed=true") == ids(engine, other)
    assert found("installed=false") == ids(spare, spring)
    problem(cast.pilot.get(f"{ADDRESS}?position=x"), 422, "invalid")


def test_a_list_takes_as_many_queries_for_many(
    cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position, django_assert_max_num_queries: Any
) -> None:
    cast.pilot.get(ADDRESS)  # notes the use of the token
    counts = []
    for number in range(3):
        part, home = make_component(kind), make_aircraft(cast.club, aircraft_type=aircraft.aircraft_type)
        install(cast.officer, part.id, home, nose)
        if number:
            opened(home)
            flown(home, timezone.now() - timedelta(days=1), 10)
        with django_assert_max_num_queries(12) as caught:
            cast.pilot.get(ADDRESS)
        counts.append(len(caught))
    assert counts[0] == counts[-1]


def test_who_may(cast: Cast, kind: ComponentKind) -> None:
    component = make_component(kind)
    only_for(cast, {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}, "post", ADDRESS, body_for(kind))
    only_for(cast, FITTERS, "patch", f"{ADDRESS}/{component.id}", {"release_document": "x"})
    for act in ("install", "remove", "overhaul"):
        only_for(cast, FITTERS, "post", f"{ADDRESS}/{component.id}/{act}", {})


def test_another_club_sees_and_moves_nothing(
    cast: Cast, kind: ComponentKind, aircraft: Aircraft, nose: Position
) -> None:
    component, other = make_component(kind), make_cast()
    address = f"{ADDRESS}/{component.id}"
    not_there(other.officer, address, f"{address}/history", f"/api/v1/aircraft/{aircraft.id}/components")
    problem(other.officer.patch(address, {"release_document": "x"}, headers={"If-Match": "*"}), 404, "not_found")
    problem(install(other.officer, component.id, aircraft, nose), 404, "not_found")
    problem(other.officer.post(f"{address}/remove", {"removed_at": now(), "reason": "x"}), 404, "not_found")
    body = {"done_on": "2025-02-03", "release_document": "x"}
    problem(other.officer.post(f"{address}/overhaul", body), 404, "not_found")
    problem(other.officer.post(ADDRESS, body_for(kind)), 404, "not_found")
    own = make_component(make_kind(other.club))
    problem(install(other.officer, own.id, aircraft, nose), 404, "not_found")
    problem(install(other.officer, own.id, component.id, nose), 404, "not_found")
    installing.install(
        component_id=component.id,
        by=cast.members[Role.TECHNICAL_OFFICER],
        at=timezone.now(),
        position_id=nose.id,
        installed_at=timezone.now(),
        aircraft_id=aircraft.id,
    )
    assert other.officer.get(f"{ADDRESS}?aircraft={aircraft.id}").json()["results"] == []
