"""Usage entries over HTTP."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.api.usage_totals import last_months
from fleet.models import Aircraft, Role, UsageEntry
from fleet.permissions import today_in
from tests.api.cast import Cast, created, make_cast, not_there, only_for
from tests.api.clients import pointers, problem
from tests.factories import make_aircraft
from tests.factories.usage import opened
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/usage-entries"
SENT = ("/aircraft", "/flown_on", "/airframe_minutes", "/winch_launches")


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    made = make_aircraft(cast.club)
    opened(made)
    return made


def body_for(aircraft: Aircraft, **changes: Any) -> dict[str, Any]:
    body: dict[str, Any] = {
        "aircraft": str(aircraft.id),
        "flown_on": "2025-05-14",
        "airframe_minutes": 95,
        "winch_launches": 6,
    }
    return body | changes


def flight(aircraft: Aircraft, **changes: Any) -> dict[str, Any]:
    body: dict[str, Any] = {
        "aircraft": str(aircraft.id),
        "takeoff_at": "2025-05-14T09:12:00Z",
        "landing_at": "2025-05-14T12:59:30+02:00",
        "aerotow_launches": 1,
        "remark": "Cross-country",
    }
    return body | changes


def test_a_flight(cast: Cast, aircraft: Aircraft) -> None:
    made = created(cast.pilot, ADDRESS, flight(aircraft))
    expected = {
        "aircraft": str(aircraft.id),
        "registration": aircraft.registration,
        "source": "manual",
        "flown_on": "2025-05-14",
        "airframe_minutes": 108,
        "launches": 1,
        "aerotow_launches": 1,
        "landings": 1,
        "corrects": None,
        "corrected_by": None,
        "remark": "Cross-country",
    }
    assert made.items() >= expected.items()
    assert made["recorded_by"]["id"] == str(cast.members[Role.PILOT].id)
    assert (made["totals"]["airframe_minutes"], made["totals"]["launches"]) == (60_108, 2_001)
    assert made["airworthiness"]["status"] == "serviceable"


def test_several_entries_at_once(cast: Cast, aircraft: Aircraft) -> None:
    days = ("2025-05-09", "2025-05-10", "2025-05-11")
    entries = [{"flown_on": day, "airframe_minutes": 60, "self_launches": 2} for day in days]
    answer = cast.pilot.post(ADDRESS, {"aircraft": str(aircraft.id), "entries": entries})
    assert answer.status_code == 201, answer.content
    body = answer.json()
    assert [entry["flown_on"] for entry in body["entries"]] == list(days)
    assert body["totals"]["airframe_minutes"] == 60_180
    assert body["airworthiness"]["status"] == "serviceable"
    listed = cast.auditor.get(answer["Location"]).json()["results"]
    assert {entry["id"] for entry in body["entries"]} <= {entry["id"] for entry in listed}


def test_an_opening_balance_is_the_technical_officers(cast: Cast) -> None:
    made = make_aircraft(cast.club)
    body = body_for(made, source="opening", flown_on="2025-01-01", airframe_minutes=74_230, winch_launches=2_811)
    problem(cast.pilot.post(ADDRESS, body), 403, "forbidden")
    answer = created(cast.officer, ADDRESS, body)
    assert (answer["source"], answer["totals"]["launches"]) == ("opening", 2_811)


def test_without_it_the_totals_are_not_known(cast: Cast) -> None:
    made = make_aircraft(cast.club)
    assert created(cast.pilot, ADDRESS, body_for(made))["totals"] is None
    told = cast.pilot.get(f"/api/v1/aircraft/{made.id}/usage").json()
    assert (told["totals"], told["recorded_to"]) == (None, None)


def test_a_correction(cast: Cast, aircraft: Aircraft) -> None:
    entry = created(cast.pilot, ADDRESS, body_for(aircraft))
    body = {"corrects": entry["id"], "remark": "Was another aircraft."}
    problem(cast.pilot.post(ADDRESS, body), 403, "forbidden")
    made = created(cast.officer, ADDRESS, body)
    assert (made["source"], made["corrects"], made["airframe_minutes"]) == ("correction", entry["id"], -95)
    assert made["totals"]["airframe_minutes"] == 60_000
    assert cast.pilot.get(f"{ADDRESS}/{entry['id']}").json()["corrected_by"] == made["id"]
    again = problem(cast.officer.post(ADDRESS, body), 409, "conflict")
    assert (again["code"], again["current"]) == ("corrected", {"corrected_by": made["id"]})


def test_the_same_id_and_content_again_is_recorded_once(cast: Cast, aircraft: Aircraft) -> None:
    body = flight(aircraft, id=str(uuid4()))
    first, again = cast.pilot.post(ADDRESS, body), cast.pilot.post(ADDRESS, body)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.content == again.content
    problem(cast.pilot.post(ADDRESS, body | {"remark": "x"}), 409, "id_taken")
    entry = {"id": body["id"], "flown_on": "2025-05-14", "airframe_minutes": 1, "winch_launches": 1}
    problem(cast.pilot.post(ADDRESS, {"aircraft": str(aircraft.id), "entries": [entry]}), 409, "id_taken")
    assert UsageEntry.objects.filter(source="manual").count() == 1


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        ({"airframe_minutes": -1}, {"/airframe_minutes": "min_value"}),
        ({"airframe_minutes": 1.5}, {"/airframe_minutes": "invalid"}),
        ({"airframe_minutes": "95"}, {"/airframe_minutes": "invalid"}),
        ({"airframe_minutes": 1_441}, {"/airframe_minutes": "too_large"}),
        ({"winch_launches": 0}, {"/winch_launches": "launch_missing"}),
        ({"flown_on": "2024-12-31"}, {"/flown_on": "before_opening"}),
        ({"flown_on": "2999-01-01"}, {"/flown_on": "in_future"}),
        ({"takeoff_at": "2025-05-14T09:00:00Z"}, {"/landing_at": "pair"}),
        ({"takeoff_at": "2999-05-14T09:00:00Z"}, {"/takeoff_at": "in_future"}),
        ({"launches": 3}, {"/launches": "unknown_field"}),
        ({"source": "csv"}, {"/source": "invalid_choice"}),
        ({"entries": []}, {"/entries": "empty"}),
        (
            {"entries": [{"flown_on": "2025-05-14"}]},
            {"/flown_on": "not_here", "/airframe_minutes": "not_here", "/winch_launches": "not_here"},
        ),
        ({"corrects": str(uuid4())}, dict.fromkeys(SENT, "not_here") | {"/remark": "required"}),
    ],
)
def test_wrong_fields_are_named(
    cast: Cast, aircraft: Aircraft, wrong: dict[str, Any], expected: dict[str, str]
) -> None:
    with unchanged(besides=("fleet_apitoken",)):
        body = problem(cast.pilot.post(ADDRESS, body_for(aircraft, **wrong)), 422, "invalid")
    assert pointers(body) == expected


def test_every_bad_entry_of_several_is_named(cast: Cast, aircraft: Aircraft) -> None:
    entries = [
        {"flown_on": "2025-05-14", "airframe_minutes": 10, "winch_launches": 1},
        {"flown_on": "2025-05-14", "airframe_minutes": 1_435, "winch_launches": 1},
        {"takeoff_at": "2025-05-14T09:00:00Z", "landing_at": "2025-05-14T08:00:00Z", "winch_launches": 1},
    ]
    answer = cast.pilot.post(ADDRESS, {"aircraft": str(aircraft.id), "entries": entries})
    assert pointers(problem(answer, 422, "invalid")) == {
        "/entries/1/airframe_minutes": "more_than_a_day",
        "/entries/2/airframe_minutes": "required",
        "/entries/2/landing_at": "out_of_order",
    }
    unknown = cast.pilot.post(ADDRESS, {"aircraft": str(aircraft.id), "entries": [{"minutes": 1}]})
    assert pointers(problem(unknown, 422, "invalid")) == {"/entries/0/minutes": "unknown_field"}
    assert UsageEntry.objects.filter(source="manual").count() == 0


def test_the_aircraft_must_be_named(cast: Cast) -> None:
    body = problem(cast.pilot.post(ADDRESS, {"flown_on": "2025-05-14"}), 422, "invalid")
    assert pointers(body) == {"/aircraft": "required"}


def test_only_who_flies_or_keeps_records(cast: Cast, aircraft: Aircraft) -> None:
    only_for(cast, {Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR}, "post", ADDRESS, body_for(aircraft))


def test_another_club_sees_and_changes_nothing(cast: Cast, aircraft: Aircraft) -> None:
    entry = UsageEntry.objects.get(aircraft=aircraft)
    other = make_cast().officer
    not_there(other, f"{ADDRESS}/{entry.id}", f"/api/v1/aircraft/{aircraft.id}/usage")
    problem(other.post(ADDRESS, body_for(aircraft)), 404, "not_found")
    problem(other.post(ADDRESS, {"corrects": str(entry.id), "remark": "x"}), 404, "not_found")
    assert other.get(f"{ADDRESS}?aircraft={aircraft.id}").json()["results"] == []


def test_filters_and_constant_queries(cast: Cast, aircraft: Aircraft, django_assert_num_queries: Any) -> None:
    for day in ("2025-05-10", "2025-05-11", "2025-05-12"):
        created(cast.pilot, ADDRESS, body_for(aircraft, flown_on=day))
        with django_assert_num_queries(2):  # token, entries
            cast.pilot.get(ADDRESS)

    def days(query: str) -> list[str]:
        found = cast.auditor.get(f"{ADDRESS}?{query}").json()["results"]
        return [entry["flown_on"] for entry in found]

    assert days(f"aircraft={aircraft.id}&flown_after=2025-05-11") == ["2025-05-12", "2025-05-11"]
    assert days("flown_after=2025-05-10&flown_before=2025-05-12&ordering=flown_on") == ["2025-05-10", "2025-05-11"]
    assert days("source=opening") == ["2025-01-01"]
    assert len(days("source=opening&source=manual")) == 4
    assert days(f"aircraft={uuid4()}") == []


def test_the_history_tells_it_in_a_sentence(cast: Cast, aircraft: Aircraft) -> None:
    entry = created(cast.pilot, ADDRESS, body_for(aircraft))
    created(cast.officer, ADDRESS, {"corrects": entry["id"], "remark": "Twice."})
    told = cast.auditor.get(f"/api/v1/aircraft/{aircraft.id}/history").json()["results"]
    sentences = [one["summary"] for one in told if one["kind"].startswith("usage_")]
    assert sentences == [
        "Usage recorded (opening), 2025-01-01 to 2025-01-01: 1000:00 h, 2000 launches.",
        "Usage recorded (manual), 2025-05-14 to 2025-05-14: 1:35 h, 6 launches.",
        "Usage entry of 2025-05-14 taken back: Twice.",
    ]


def test_totals_this_year_and_by_month(cast: Cast) -> None:
    made = make_aircraft(cast.club)
    today = today_in(cast.club, timezone.now())
    months = last_months(today)
    opened(made, on=months[0] - timedelta(days=40), at=timezone.now())
    before = created(cast.pilot, ADDRESS, body_for(made, flown_on=(months[0] - timedelta(days=1)).isoformat()))
    first = created(cast.pilot, ADDRESS, body_for(made, flown_on=months[0].isoformat()))
    created(cast.pilot, ADDRESS, body_for(made, flown_on=months[-1].isoformat(), airframe_minutes=5, cycles=2))
    created(cast.officer, ADDRESS, {"corrects": first["id"], "remark": "Twice."})
    created(cast.pilot, ADDRESS, body_for(made, flown_on=months[0].isoformat(), airframe_minutes=7, winch_launches=1))
    told = cast.auditor.get(f"/api/v1/aircraft/{made.id}/usage").json()
    assert before["flown_on"] < told["months"][0]["month"]
    assert told["totals"]["airframe_minutes"] == 60_000 + 95 + 5 + 7
    assert [one["month"] for one in told["months"]] == [f"{month:%Y-%m}" for month in months]
    assert [one["airframe_minutes"] for one in told["months"]] == [7, *[0] * 10, 5]
    assert (told["months"][0]["winch_launches"], told["months"][-1]["cycles"]) == (1, 2)
    this_year = 5 + sum(7 for month in months[:1] if month.year == today.year)
    assert (told["this_year"]["year"], told["this_year"]["airframe_minutes"]) == (today.year, this_year)


def test_an_opening_balance_is_no_flying_of_its_month(cast: Cast) -> None:
    made = make_aircraft(cast.club)
    today = today_in(cast.club, timezone.now())
    entry = created(
        cast.officer, ADDRESS, body_for(made, source="opening", flown_on=today.isoformat(), airframe_minutes=9_999)
    )
    address = f"/api/v1/aircraft/{made.id}/usage"
    assert cast.pilot.get(address).json()["months"][-1]["airframe_minutes"] == 0
    created(cast.officer, ADDRESS, {"corrects": entry["id"], "remark": "Misread."})
    assert cast.pilot.get(address).json()["this_year"]["airframe_minutes"] == 0


@pytest.mark.parametrize(
    ("today", "first", "last"),
    [
        (date(2026, 11, 25), date(2025, 12, 1), date(2026, 11, 1)),
        (date(2026, 12, 31), date(2026, 1, 1), date(2026, 12, 1)),
        (date(2026, 1, 1), date(2025, 2, 1), date(2026, 1, 1)),
    ],
)
def test_the_last_twelve_months(today: date, first: date, last: date) -> None:
    months = last_months(today)
    assert (months[0], months[-1], len(months)) == (first, last, 12)
