"""What was shown for an aircraft at any instant, over HTTP."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from fleet.models import Aircraft, AirworthinessState
from tests.api.cast import Cast, make_cast
from tests.api.clients import pointers, problem
from tests.factories import FOUNDED, NOW, inspect, make_aircraft, released, reported

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
TICK = timedelta(microseconds=1)


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    return make_aircraft(cast.club)


def address(aircraft: Aircraft) -> str:
    return f"/api/v1/aircraft/{aircraft.id}/airworthiness"


def shown(cast: Cast, aircraft: Aircraft, at: datetime | None = None) -> dict[str, Any]:
    answer = cast.pilot.get(address(aircraft), {"at": at.isoformat()} if at else {})
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def periods(cast: Cast, aircraft: Aircraft, query: str = "") -> list[dict[str, Any]]:
    answer = cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/assessments{query}")
    assert answer.status_code == 200, answer.content
    listed: list[dict[str, Any]] = answer.json()["results"]
    return listed


def instant(text: str) -> datetime:
    return datetime.fromisoformat(text)


def test_now(cast: Cast, aircraft: Aircraft) -> None:
    before = timezone.now()
    body = shown(cast, aircraft)
    assert (body["aircraft"], body["registration"]) == (str(aircraft.id), aircraft.registration)
    assert (body["status"], body["ready_today"], body["reasons"], body["limitations"]) == ("serviceable", False, [], [])
    assert body["at"] is None
    assert before <= instant(body["assessed_at"]) <= timezone.now()


def test_a_reason_says_all_that_is_promised(cast: Cast, aircraft: Aircraft) -> None:
    defect = reported(aircraft, critical=True)
    (reason,) = shown(cast, aircraft)["reasons"]
    assert (reason["rule"], reason["effect"]) == ("critical_item_defect", "grounds")
    assert reason["subject"] == {"type": "defect", "id": str(defect.id)}
    assert all(reason[name] for name in ("message", "citation", "cure"))


def test_a_past_instant_shows_what_was_shown_then(cast: Cast, aircraft: Aircraft) -> None:
    released(aircraft, critical=True)  # a step each minute from NOW on: reported ... released after five
    assert shown(cast, aircraft, NOW - TICK)["status"] == "serviceable"
    assert shown(cast, aircraft, NOW)["status"] == "grounded"
    assert [reason["rule"] for reason in shown(cast, aircraft, NOW)["reasons"]] == ["critical_item_defect"]
    worked = {reason["rule"] for reason in shown(cast, aircraft, NOW + 3 * MINUTE)["reasons"]}
    assert "independent_inspection_missing" in worked
    assert shown(cast, aircraft, NOW + 5 * MINUTE - TICK)["status"] == "grounded"
    after = shown(cast, aircraft, NOW + 5 * MINUTE)
    assert after["status"] == "serviceable"
    assert instant(after["assessed_at"]) == instant(after["at"]) == NOW + 5 * MINUTE


def test_offsets_are_understood_escaped_or_not(cast: Cast, aircraft: Aircraft) -> None:
    reported(aircraft, critical=True)
    for sent in ("2025-05-14T11:00:00%2B02:00", "2025-05-14T11:00:00+02:00", "2025-05-14T09:00:00Z"):
        assert cast.pilot.get(f"{address(aircraft)}?at={sent}").json()["status"] == "grounded"
    earlier = cast.pilot.get(f"{address(aircraft)}?at=2025-05-14T10:59:59%2B02:00")
    assert earlier.json()["status"] == "serviceable"


def test_readiness_ends_with_its_flying_day(cast: Cast, aircraft: Aircraft) -> None:
    inspect(aircraft, at=NOW)
    midnight = datetime.fromisoformat("2025-05-15T00:00:00+02:00")  # of the club's zone
    assert shown(cast, aircraft, NOW)["ready_today"]
    assert shown(cast, aircraft, midnight - TICK)["ready_today"]
    assert not shown(cast, aircraft, midnight)["ready_today"]
    assert not shown(cast, aircraft)["ready_today"]


def test_a_limit_that_passed_unnoticed_shows_from_its_instant_on(cast: Cast, aircraft: Aircraft) -> None:
    reported(aircraft, at=NOW)
    turn = AirworthinessState.objects.get(aircraft=aircraft).valid_until
    assert turn is not None
    assert shown(cast, aircraft, turn - TICK)["status"] == "limited"
    assert shown(cast, aircraft, turn)["status"] == "grounded"
    assert shown(cast, aircraft)["status"] == "grounded"
    assert AirworthinessState.objects.get(aircraft=aircraft).status == "limited"  # reading writes nothing


def test_before_the_record(cast: Cast, aircraft: Aircraft) -> None:
    answer = cast.pilot.get(address(aircraft), {"at": (FOUNDED - TICK).isoformat()})
    body = problem(answer, 404, "not_found")
    assert body["code"] == "no_record_then"
    assert "2025-01-02T08:00:00Z" in body["detail"]
    assert shown(cast, aircraft, FOUNDED)["status"] == "grounded"  # in that very instant without documents


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        ("2025-05-14T09:00:00", "invalid_instant"),
        ("2025-05-14", "invalid_instant"),
        ("yesterday", "invalid_instant"),
        ("2025-02-30T09:00:00Z", "invalid_instant"),
        ("1803-01-01T00:00:00Z", "invalid_instant"),
        ("2999-01-01T00:00:00Z", "in_future"),
    ],
)
def test_instants_that_are_none(cast: Cast, aircraft: Aircraft, sent: str, code: str) -> None:
    assert pointers(problem(cast.pilot.get(address(aircraft), {"at": sent}), 422, "invalid")) == {"/at": code}


def test_a_clock_that_is_ahead_is_told_now(cast: Cast, aircraft: Aircraft) -> None:
    body = shown(cast, aircraft, timezone.now() + 4 * MINUTE)
    assert instant(body["assessed_at"]) <= timezone.now() < instant(body["at"])
    late = cast.pilot.get(address(aircraft), {"at": (timezone.now() + 6 * MINUTE).isoformat()})
    problem(late, 422, "invalid")


def test_periods_follow_each_other_without_gaps(cast: Cast, aircraft: Aircraft) -> None:
    released(aircraft, critical=True)
    listed = periods(cast, aircraft)
    assert listed[0]["status"] == "grounded"  # no documents yet
    assert listed[-1]["status"] == "serviceable"
    assert listed[0]["from"] == "2025-01-02T08:00:00Z"
    assert listed[-1]["to"] is None
    assert [one["to"] for one in listed[:-1]] == [one["from"] for one in listed[1:]]
    for one in listed:
        told = shown(cast, aircraft, instant(one["from"]))
        assert all(told[name] == one[name] for name in ("status", "ready_today", "reasons", "limitations"))


def test_periods_tell_what_time_alone_has_made(cast: Cast, aircraft: Aircraft) -> None:
    reported(aircraft, at=NOW)
    turn = AirworthinessState.objects.get(aircraft=aircraft).valid_until
    listed = periods(cast, aircraft)
    assert [one["status"] for one in listed[-2:]] == ["limited", "grounded"]
    assert turn is not None
    assert instant(listed[-2]["to"]) == instant(listed[-1]["from"]) == turn
    assert listed[-1]["to"] is None
    assert periods(cast, aircraft, "?ordering=-shown_from") == listed[::-1]


def test_periods_come_in_pages(cast: Cast, aircraft: Aircraft) -> None:
    released(aircraft, critical=True)
    listed, address = [], f"/api/v1/aircraft/{aircraft.id}/assessments?limit=2"
    while address:
        page = cast.pilot.get(address).json()
        listed += page["results"]
        address = page["next"]
    assert listed == periods(cast, aircraft)
    assert len(listed) > 4
