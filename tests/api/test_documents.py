"""Documents over HTTP."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import Aircraft, Document, Event, Role
from fleet.permissions import today_in
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import fresh, make_aircraft

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/documents"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    return make_aircraft(cast.club, documents=False)


def body_for(aircraft: Aircraft, **changes: Any) -> dict[str, Any]:
    body = {
        "aircraft": str(aircraft.id),
        "kind": "insurance",
        "reference": "INS-77",
        "issued_on": "2025-02-01",
        "expires_on": "2090-01-31",
    }
    return body | changes


def today(aircraft: Aircraft) -> date:
    return today_in(aircraft.club, timezone.now())


def test_the_last_missing_document_clears_the_way(cast: Cast, aircraft: Aircraft) -> None:
    first = created(cast.officer, ADDRESS, body_for(aircraft))
    assert first.items() >= body_for(aircraft).items()
    assert first["recorded_by"]["id"] == str(cast.members[Role.TECHNICAL_OFFICER].id)
    assert first["airworthiness"]["status"] == "grounded"
    second = created(cast.officer, ADDRESS, body_for(aircraft, kind="airworthiness_review_certificate"))
    assert second["airworthiness"]["status"] == "serviceable"
    assert fresh(aircraft).airworthiness.status == "serviceable"


def test_a_document_is_valid_through_its_last_day(cast: Cast, aircraft: Aircraft) -> None:
    created(cast.officer, ADDRESS, body_for(aircraft, kind="airworthiness_review_certificate"))
    last_day = body_for(aircraft, expires_on=today(aircraft).isoformat())
    assert created(cast.officer, ADDRESS, last_day)["airworthiness"]["status"] == "serviceable"
    Document.objects.filter(kind="insurance").update(expires_on=today(aircraft) - timedelta(days=1))
    assert created(cast.officer, ADDRESS, body_for(aircraft, kind="other"))["airworthiness"]["status"] == "grounded"


def test_withdrawing_grounds_and_is_not_undone(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    document = Document.objects.get(aircraft=aircraft, kind="insurance")
    done = change(cast.officer, f"{ADDRESS}/{document.id}", {"withdrawn_at": timezone.now().isoformat()})
    assert done.json()["airworthiness"]["status"] == "grounded"
    again = problem(change(cast.officer, f"{ADDRESS}/{document.id}", {"reference": "x"}), 409, "conflict")
    assert again["code"] == "withdrawn"
    assert again["current"].keys() == {"withdrawn_at"}
    assert cast.pilot.get(f"{ADDRESS}?withdrawn=true&aircraft={aircraft.id}").json()["results"][0]["id"] == str(
        document.id
    )


def test_a_correction_keeps_what_was_said_before(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    document = Document.objects.get(aircraft=aircraft, kind="insurance")
    yesterday = (today(aircraft) - timedelta(days=1)).isoformat()
    done = change(cast.officer, f"{ADDRESS}/{document.id}", {"expires_on": yesterday})
    assert done.json()["airworthiness"]["status"] == "grounded"
    event = Event.objects.get(kind="document_change")
    assert f'"expires_on":{{"after":"{yesterday}","before":"2090-12-31"}}' in event.canonical


def test_changes_need_the_current_version(cast: Cast) -> None:
    document = Document.objects.filter(aircraft=make_aircraft(cast.club)).first()
    assert document is not None
    guarded(cast.officer, f"{ADDRESS}/{document.id}", {"reference": "new", "expires_on": None})


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"kind": "licence"}, "/kind", "invalid_choice"),
        ({"issued_on": "2025-2-1"}, "/issued_on", "invalid"),
        ({"issued_on": "2025-02-30"}, "/issued_on", "invalid"),
        ({"issued_on": "2025-02-01T00:00:00Z"}, "/issued_on", "invalid"),
        ({"issued_on": "0225-02-01"}, "/issued_on", "too_early"),
        ({"expires_on": "2025-01-31"}, "/expires_on", "out_of_order"),
        ({"attachment": str(uuid4())}, "/attachment", "unknown_attachment"),
        ({"withdrawn_at": "2025-02-01T00:00:00Z"}, "/withdrawn_at", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, aircraft: Aircraft, wrong: dict[str, Any], pointer: str, code: str) -> None:
    body = problem(cast.officer.post(ADDRESS, body_for(aircraft, **wrong)), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not Document.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"issued_on": "2091-01-01"}, "/issued_on", "in_future"),
        ({"expires_on": "2019-12-31"}, "/expires_on", "out_of_order"),
        ({"withdrawn_at": "2999-01-01T00:00:00Z"}, "/withdrawn_at", "in_future"),
        ({"withdrawn_at": None}, "/withdrawn_at", "null"),
        ({"kind": "other"}, "/kind", "unknown_field"),
    ],
)
def test_wrong_changes_change_nothing(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    document = Document.objects.filter(aircraft=make_aircraft(cast.club)).first()
    assert document is not None
    address = f"{ADDRESS}/{document.id}"
    before = cast.officer.get(address).content
    assert pointers(problem(change(cast.officer, address, wrong), 422, "invalid")) == {pointer: code}
    assert cast.officer.get(address).content == before


def test_only_keepers_write(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    keepers = {Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR}
    only_for(cast, keepers, "post", ADDRESS, body_for(aircraft))
    document = Document.objects.filter(aircraft=aircraft).first()
    assert document is not None
    only_for(cast, keepers, "patch", f"{ADDRESS}/{document.id}", {"reference": "x"})


def test_another_club_sees_and_changes_nothing(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    document = Document.objects.filter(aircraft=aircraft).first()
    assert document is not None
    other = make_cast().officer
    not_there(other, f"{ADDRESS}/{document.id}")
    problem(other.patch(f"{ADDRESS}/{document.id}", {"reference": "x"}, headers={"If-Match": "*"}), 404, "not_found")
    problem(other.post(ADDRESS, body_for(aircraft)), 404, "not_found")
    assert other.get(f"{ADDRESS}?aircraft={aircraft.id}").json()["results"] == []


def test_filters_and_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    first = make_aircraft(cast.club)
    cast.pilot.get(ADDRESS)  # notes the use of the token
    for _ in range(2):
        make_aircraft(cast.club, aircraft_type=first.aircraft_type)
        with django_assert_num_queries(2):  # token, documents
            cast.pilot.get(ADDRESS)
    found = cast.pilot.get(f"{ADDRESS}?aircraft={first.id}&kind=insurance").json()["results"]
    assert [(one["aircraft"], one["kind"]) for one in found] == [(str(first.id), "insurance")]
