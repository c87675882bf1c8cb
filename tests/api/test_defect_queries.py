"""Statements of a defect report: few, and as many on an aircraft with a long history as on a new one."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.models import Aircraft, Membership, Role
from fleet.services import upkeep
from tests.api.test_main_job import client_of
from tests.factories import PLAIN, ClubFactory, MemberFactory, inspect, make_aircraft, released, reported, rig

pytestmark = pytest.mark.django_db
LIMIT = 25  # of the whole request: sign-in, idempotency, act, events, reassessment


def statements_of_a_report(pilot: Membership, aircraft: Aircraft) -> list[str]:
    client = client_of(pilot)
    body = {
        "aircraft": str(aircraft.id),
        "item": PLAIN,
        "description": "Scratch on the fairing.",
        "found_at": timezone.now().isoformat(),
        "found_during": "flight",
    }
    client.get("/api/v1/defects")  # the first use of a token is noted
    upkeep.reassess_due(timezone.now())  # as the job does every minute
    with CaptureQueriesContext(connection) as seen:
        answer = client.post("/api/v1/defects", body, format="json", HTTP_IDEMPOTENCY_KEY=f"report-{aircraft.id}")
    assert answer.status_code == 201, answer.content
    return [query["sql"] for query in seen.captured_queries if "SAVEPOINT" not in query["sql"]]


def test_a_report_needs_few_statements_whatever_the_history() -> None:
    club = ClubFactory.create()
    pilot = MemberFactory.create(club=club, roles=[Role.PILOT])
    new = make_aircraft(club)
    young = statements_of_a_report(pilot, new)
    old = make_aircraft(club)
    start = timezone.now() - timedelta(days=200)
    for day in range(40):
        released(old, at=start + timedelta(days=day), critical=day % 2 == 0)
    for day in range(40, 60):
        reported(old, at=start + timedelta(days=day))
        inspect(old, at=start + timedelta(days=day, hours=1))
        rig(old, at=start + timedelta(days=day, hours=2))
    aged = statements_of_a_report(pilot, old)
    assert len(young) <= LIMIT, "\n".join(young)
    assert len(aged) <= LIMIT, "\n".join(aged)
