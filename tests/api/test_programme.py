"""The programme through the API: tasks, compliances, directives, the due list, a planned flight."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from fleet.models import Aircraft, Membership, Role
from tests.api.clients import client_of
from tests.factories import ClubFactory, InspectorFactory, MemberFactory, make_aircraft
from tests.factories.usage import opened

pytestmark = pytest.mark.django_db
ANNUAL = {"dimension": "months", "every": 12, "tolerance": 1, "tolerance_in": "months", "notice": 30}


class Cast:
    """A club with an aircraft whose usage is recorded."""

    def __init__(self) -> None:
        self.club = ClubFactory.create()
        self.officer: Membership = MemberFactory.create(club=self.club, roles=[Role.TECHNICAL_OFFICER])
        self.inspector: Membership = InspectorFactory.create(club=self.club)
        self.pilot: Membership = MemberFactory.create(club=self.club, roles=[Role.PILOT])
        self.aircraft: Aircraft = make_aircraft(self.club)
        opened(self.aircraft, minutes=60_000, launches=2_000)

    def post(self, member: Membership, address: str, body: dict[str, Any], status: int = 201) -> Any:
        answer = client_of(member).post(f"/api/v1/{address}", body, format="json")
        assert answer.status_code == status, answer.content
        return answer.json()

    def get(self, address: str, **query: Any) -> Any:
        answer = client_of(self.pilot).get(f"/api/v1/{address}", query)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def task(self, *limits: dict[str, Any], **fields: Any) -> Any:
        said = {
            "aircraft_type": str(self.aircraft.aircraft_type_id),
            "code": "annual",
            "title": "Annual",
            "basis": "AMP 1",
        }
        return self.post(self.officer, "tasks", said | {"limits": list(limits) or [ANNUAL]} | fields)

    def airworthiness(self) -> Any:
        return self.get(f"aircraft/{self.aircraft.id}/airworthiness")


@pytest.fixture
def cast() -> Cast:
    return Cast()


def test_from_a_task_over_its_compliance_to_the_due_list(cast: Cast) -> None:
    task = cast.task()
    assert [reason["rule"] for reason in cast.airworthiness()["reasons"]] == ["task_unknown"]
    today = timezone.now().date()
    body = {
        "task": task["id"],
        "aircraft": str(cast.aircraft.id),
        "done_on": str(today - timedelta(days=340)),
        "method": "Inspected by the checklist.",
        "data_used": "Maintenance manual issue 2",
        "findings": [{"description": "Placard loose.", "item": "sealing-tape"}],
    }
    done = cast.post(cast.inspector, "compliances", body)
    assert done["licence_number"]
    assert len(done["defects"]) == 1
    assert {reason["rule"] for reason in done["airworthiness"]["reasons"]} == {"untriaged_defect", "task_due_soon"}
    (item,) = cast.get("due-items", aircraft=str(cast.aircraft.id))["results"]
    assert item["state"] == "due_soon"
    assert item["governing"] == "calendar"
    assert item["limits"][0]["left"] == item["limits"][0]["left"]
    assert cast.get("due-items", state="overdue")["results"] == []
    assert [one["id"] for one in cast.get("due-items", state="due_soon")["results"]] == [item["id"]]
    assert cast.get(f"due-items/{item['id']}") == item
    assert cast.get("compliances")["results"][0]["id"] == done["id"]
    assert cast.get(f"compliances/{done['id']}")["task_code"] == "annual"
    assert sum(month["tasks"] for month in cast.get("workload")) == 1


def test_a_task_is_changed_by_version(cast: Cast) -> None:
    task = cast.task()
    client = client_of(cast.officer)
    address = f"/api/v1/tasks/{task['id']}"
    tag = client.get(address)["ETag"]
    assert client.patch(address, {"active": False}, format="json").status_code == 428
    answer = client.patch(address, {"active": False}, format="json", HTTP_IF_MATCH=tag)
    assert answer.status_code == 200, answer.content
    assert answer.json()["active"] is False
    assert client.patch(address, {"active": True}, format="json", HTTP_IF_MATCH=tag).status_code == 412
    assert cast.airworthiness()["reasons"] == []
    changed = {"limits": [ANNUAL | {"every": 6}], "active": True}
    answer = client.patch(address, changed, format="json", HTTP_IF_MATCH=client.get(address)["ETag"])
    assert answer.json()["limits"][0]["every"] == 6


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"aircraft": "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20"}, "/aircraft_type"),
        ({"limits": []}, "/limits"),
        ({"limits": [{"dimension": "launches", "tolerance_in": "days", "every": 1}]}, "/limits/0/tolerance_in"),
        ({"limits": [{"dimension": "launches"}]}, "/limits"),
        ({"life_limit": True}, "/component_kind"),
        ({"limits": [{"dimension": "launches", "every": 5}, {"dimension": "launches", "every": 6}]}, "/limits"),
    ],
)
def test_a_task_that_contradicts_itself_is_refused(cast: Cast, fields: dict[str, Any], pointer: str) -> None:
    said = {
        "aircraft_type": str(cast.aircraft.aircraft_type_id),
        "code": "x",
        "title": "X",
        "basis": "B",
        "limits": [ANNUAL],
    }
    answer = client_of(cast.officer).post("/api/v1/tasks", said | fields, format="json")
    assert answer.status_code in {409, 422}, answer.content
    if answer.status_code == 422:
        assert answer.json()["errors"][0]["pointer"] == pointer


def test_a_directive_is_assessed_and_complied_with(cast: Cast) -> None:
    today = str(timezone.now().date())
    said = {"reference": "AD 7", "title": "Spar", "issuer": "Authority", "issued_on": today, "effective_on": today}
    directive = cast.post(cast.officer, "directives", said | {"aircraft_types": [str(cast.aircraft.aircraft_type_id)]})
    assert [reason["rule"] for reason in cast.airworthiness()["reasons"]] == ["directive_unassessed"]
    task = cast.task({"dimension": "days", "first": 10}, code="ad-7", directive=directive["id"])
    decided = cast.post(
        cast.inspector,
        "directive-assessments",
        {
            "directive": directive["id"],
            "aircraft": str(cast.aircraft.id),
            "decision": "applicable",
            "reason": "Serial.",
        },
    )
    assert decided["airworthiness"]["status"] == "serviceable"
    body = {
        "task": task["id"],
        "aircraft": str(cast.aircraft.id),
        "done_on": today,
        "method": "Checked.",
        "data_used": "AD 7",
    }
    assert cast.post(cast.inspector, "compliances", body)["airworthiness"]["reasons"] == []
    assert cast.get(f"directives/{directive['id']}")["tasks"] == [task["id"]]
    assert cast.get("directive-assessments", directive=directive["id"])["results"][0]["id"] == decided["id"]
    assert cast.get(f"directive-assessments/{decided['id']}")["decision"] == "applicable"


def test_a_planned_flight_is_told_what_it_makes_due(cast: Cast) -> None:
    """AMC M.A.301(a) (T10): next check at 2000.0 h, now 1999.2 h; 0.5 h is in order, 1.0 h makes it due."""
    task = cast.task({"dimension": "airframe_minutes", "every": 48})
    today = str(timezone.now().date())
    body = {
        "task": task["id"],
        "aircraft": str(cast.aircraft.id),
        "done_on": today,
        "method": "Done.",
        "data_used": "M",
    }
    cast.post(cast.inspector, "compliances", body)
    address = f"aircraft/{cast.aircraft.id}/flight-check"
    assert cast.post(cast.pilot, address, {"airframe_minutes": 30}, 200)["becomes_due"] == []
    (found,) = cast.post(cast.pilot, address, {"airframe_minutes": 60}, 200)["becomes_due"]
    assert found["dimensions"] == ["airframe_minutes"]


def test_a_limit_by_launches_is_forecast_from_three_seasons(cast: Cast) -> None:
    task = cast.task({"dimension": "launches", "every": 300}, code="hook")
    today = timezone.now().date()
    lines: list[dict[str, Any]] = []
    for back in range(36, 0, -1):
        month = (today.replace(day=1) - timedelta(days=30 * back)).replace(day=15)
        flown = 40 if month.month in range(4, 10) else 4
        lines.append({"flown_on": str(month), "airframe_minutes": 15 * flown, "winch_launches": flown})
    for line in lines:
        if line["flown_on"] > "2025-01-01":
            cast.post(cast.pilot, "usage-entries", {"aircraft": str(cast.aircraft.id), **line})
    body = {
        "task": task["id"],
        "aircraft": str(cast.aircraft.id),
        "done_on": str(today),
        "method": "Done.",
        "data_used": "M",
    }
    cast.post(cast.inspector, "compliances", body)
    (item,) = cast.get("due-items", task=task["id"])["results"]
    (told,) = cast.get(f"due-items/{item['id']}/forecast")["usage"]
    assert told["left"] == 300
    assert told["outlook"] == "forecast"
    assert str(today) < told["earliest_on"] <= told["median_on"] <= (told["latest_on"] or told["median_on"])


def test_another_clubs_programme_is_not_there(cast: Cast) -> None:
    task = cast.task()
    stranger = client_of(MemberFactory.create(roles=list(Role)))
    assert stranger.get(f"/api/v1/tasks/{task['id']}").status_code == 404
    for address in ("tasks", "due-items", "compliances", "directives", "directive-assessments"):
        assert stranger.get(f"/api/v1/{address}").json()["results"] == []
