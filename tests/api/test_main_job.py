"""The main job through the API alone: a walkaround finds damage, the aircraft is grounded, an inspector returns it to service."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from fleet.models import Membership, Role
from fleet.services import access
from inspections import selectors
from tests.factories import (
    CRITICAL,
    PASSWORD,
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    complete_results,
    make_aircraft,
)

pytestmark = pytest.mark.django_db


def client_of(member: Membership) -> APIClient:
    """A program of this member."""
    client = APIClient()
    _token, secret = access.issue_token(by=member, name="test", at=timezone.now())
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


def sent_results(sheet: Any, second: Membership, **defective: str) -> list[dict[str, Any]]:
    """Every line satisfactory but those named, which are defects with these words."""
    results = []
    for sent in complete_results(sheet, second=second):
        result: dict[str, Any] = {"item": sent.item, "outcome": sent.outcome}
        if sent.value is not None:
            result["measurement"] = {"value": float(sent.value), "unit": sent.unit}
        if sent.second_person:
            result["second_person"] = str(sent.second_person)
        if sent.item in defective:
            result |= {
                "outcome": "defect",
                "defect": {"description": defective[sent.item], "damage_kind": "crack"},
            }
        results.append(result)
    return results


def test_walkaround_grounds_and_release_returns_to_service() -> None:
    club = ClubFactory.create()
    pilot, second = (
        MemberFactory.create(club=club, roles=[Role.PILOT]),
        MemberFactory.create(club=club, roles=[Role.PILOT]),
    )
    officer = MemberFactory.create(club=club, roles=[Role.TECHNICAL_OFFICER])
    inspector, other = InspectorFactory.create(club=club), InspectorFactory.create(club=club)
    aircraft = make_aircraft(club)
    sheet = selectors.current_sheet(aircraft.aircraft_type, "daily")
    now = timezone.now()
    walk = {
        "aircraft": str(aircraft.id),
        "kind": "daily",
        "started_at": (now - timedelta(minutes=1)).isoformat(),
        "completed_at": now.isoformat(),
        "second_person": str(second.id),
        "results": sent_results(sheet, second, **{CRITICAL: "Crack at the root."}),
    }
    answer = client_of(pilot).post("/api/v1/inspections", walk, format="json")
    assert answer.status_code == 201, answer.content
    body = answer.json()
    assert body["complete"] is True and body["missing"] == []
    assert body["airworthiness"]["status"] == "grounded"
    assert body["airworthiness"]["ready_today"] is False
    assert [reason["rule"] for reason in body["airworthiness"]["reasons"]] == ["critical_item_defect"]
    (defect_id,) = body["defects"]
    defect = f"/api/v1/defects/{defect_id}"

    refused = client_of(pilot).post(
        f"{defect}/triage",
        {"assessment": "no_hazard", "justification": "x"},
        format="json",
    )
    assert refused.status_code == 403
    triaged = client_of(officer).post(
        f"{defect}/triage",
        {"assessment": "hazard", "justification": "Structure."},
        format="json",
    )
    assert triaged.status_code == 201, triaged.content
    work = {
        "work_done": "Scarfed and laminated.",
        "data_used": "Repair manual issue 3",
        "performed_at": timezone.now().isoformat(),
    }
    rectified = client_of(inspector).post(f"{defect}/rectify", work, format="json")
    assert rectified.status_code == 201, rectified.content
    assert rectified.json()["state"] == "rectified"
    signature = {"password": PASSWORD, "statement_accepted": True}
    early = client_of(inspector).post(f"{defect}/release", signature, format="json")
    assert early.status_code == 409, early.content
    check = {"outcome": "accepted", "remark": "Bond line sound."}
    own = client_of(inspector).post(f"{defect}/independent-inspection", check, format="json")
    assert own.status_code == 403
    checked = client_of(other).post(f"{defect}/independent-inspection", check, format="json")
    assert checked.status_code == 201, checked.content
    wrong = client_of(inspector).post(f"{defect}/release", signature | {"password": "not it"}, format="json")
    assert wrong.status_code == 403
    released = client_of(inspector).post(f"{defect}/release", signature, format="json")
    assert released.status_code == 201, released.content
    done = released.json()
    assert done["state"] == "released"
    assert done["record_hash"] and done["statement"]
    assert done["airworthiness"]["status"] == "serviceable"
    assert done["airworthiness"]["ready_today"] is False  # it must be walked round again

    again = walk | {
        "results": sent_results(sheet, second),
        "started_at": timezone.now().isoformat(),
        "completed_at": timezone.now().isoformat(),
    }
    answer = client_of(pilot).post("/api/v1/inspections", again, format="json")
    assert answer.json()["airworthiness"] == {
        "status": "serviceable",
        "ready_today": True,
        "reasons": [],
        "limitations": [],
    }
