"""One aircraft that cannot be judged: it is grounded and told of in the log, and the others go on."""

import logging
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import connection

from defects.models import Defect
from defects.services import upkeep as of_defects
from fleet import assessment
from fleet.models import Aircraft, Flag, Membership, Notification
from fleet.services import mail, upkeep
from tests.factories import NOW, ClubFactory, deferred, fresh, inspect, make_aircraft, reported
from tests.jobs.turns import TURNS, stored

pytestmark = pytest.mark.django_db

MIDNIGHT, TRIAGE_LIMIT = TURNS["midnight"].at, TURNS["triage limit"].at
DAY = timedelta(days=1)
UNJUDGED = ("grounded", False, ("rule_error grounds",))


@pytest.fixture
def other(aircraft: Aircraft) -> Aircraft:
    """An aircraft of another club."""
    return make_aircraft(ClubFactory.create())


def corrupt_time_zone(aircraft: Aircraft) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE fleet_club SET time_zone = 'Nowhere/Never' WHERE id = %s", [aircraft.club_id])


@pytest.fixture
def poisoned(aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch) -> list[UUID]:
    """Ids of aircraft whose facts about defects cannot be gathered; append to it."""
    ids: list[UUID] = []
    provides, gather = assessment._SOURCES["defects"]

    def failing(asked: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
        if set(asked) & set(ids):
            with connection.cursor() as cursor:
                cursor.execute("SELECT 1 / 0")  # as bad as can be: it breaks the transaction, too
        return gather(asked, at)

    monkeypatch.setitem(assessment._SOURCES, "defects", (provides, failing))
    return ids


def test_a_corrupt_setting_grounds_its_club_and_the_others_go_on(
    aircraft: Aircraft, other: Aircraft, caplog: pytest.LogCaptureFixture
) -> None:
    for one in (aircraft, other):
        inspect(one, at=NOW)
    corrupt_time_zone(other)
    assert upkeep.reassess_due(MIDNIGHT + DAY) == 2
    assert stored(aircraft) == TURNS["midnight"].after
    status, ready, rules = stored(other)
    assert (status, ready) == ("grounded", False)
    assert "rule_error grounds" in rules
    logged = {getattr(record, "aircraft", None) for record in caplog.records if record.levelno >= logging.ERROR}
    assert logged == {str(other.id)}


def test_facts_that_cannot_be_gathered_ground_and_the_others_go_on(
    aircraft: Aircraft, other: Aircraft, poisoned: list[UUID], caplog: pytest.LogCaptureFixture
) -> None:
    for one in (aircraft, other):
        reported(one)
    poisoned.append(other.id)
    assert upkeep.reassess_due(TRIAGE_LIMIT) == 2
    assert stored(aircraft) == TURNS["triage limit"].after
    assert stored(other) == UNJUDGED
    logged = {getattr(record, "aircraft", None) for record in caplog.records if record.levelno >= logging.ERROR}
    assert logged == {str(other.id)}


def test_once_it_can_be_judged_again_the_next_run_does(
    aircraft: Aircraft, other: Aircraft, poisoned: list[UUID]
) -> None:
    reported(other)
    poisoned.append(other.id)
    upkeep.reassess_due(TRIAGE_LIMIT)
    upkeep.reassess_due(TRIAGE_LIMIT + timedelta(minutes=1))
    assert stored(other) == UNJUDGED
    poisoned.clear()
    upkeep.reassess_due(TRIAGE_LIMIT + timedelta(minutes=2))
    assert stored(other) == TURNS["triage limit"].after


def test_an_act_on_it_is_kept_and_answered_as_grounded(aircraft: Aircraft, poisoned: list[UUID]) -> None:
    poisoned.append(aircraft.id)
    reported(aircraft)
    assert Defect.objects.count() == 1
    assert stored(aircraft) == UNJUDGED


def test_a_look_at_it_grounds_too(aircraft: Aircraft, other: Aircraft, poisoned: list[UUID]) -> None:
    for one in (aircraft, other):
        inspect(one, at=NOW)
    poisoned.append(other.id)
    states = [fresh(one).airworthiness for one in (aircraft, other)]
    shown = assessment.shown_many(states, MIDNIGHT)
    assert shown[other.id]["status"] == "grounded"
    assert shown[aircraft.id]["status"] == "serviceable"


def test_the_self_check_goes_on_past_it(aircraft: Aircraft, other: Aircraft, poisoned: list[UUID]) -> None:
    poisoned.append(other.id)
    assert upkeep.reassess_everything(NOW) == 1
    assert stored(other) == UNJUDGED
    assert stored(aircraft)[0] == "serviceable"


def test_deferrals_of_the_others_end(aircraft: Aircraft, other: Aircraft, caplog: pytest.LogCaptureFixture) -> None:
    good, bad = deferred(aircraft), deferred(other)
    corrupt_time_zone(other)
    assert of_defects.expire_deferrals(NOW + 20 * DAY) == 1
    assert Defect.objects.get(id=good.id).state == "assessed"
    assert Defect.objects.get(id=bad.id).state == "deferred"  # the rules ground it all the same
    assert any("could not be looked at" in record.getMessage() for record in caplog.records)
    upkeep.reassess_due(NOW + 20 * DAY)
    assert stored(other)[0] == "grounded"


def test_dailies_and_deferrals_of_the_others_are_flagged(aircraft: Aircraft, other: Aircraft) -> None:
    for one in (aircraft, other):
        deferred(one, days=1)
        inspect(one, at=NOW + timedelta(minutes=30))
    upkeep.reassess_due(MIDNIGHT)
    corrupt_time_zone(other)
    assert upkeep.flag_lapsed_dailies(MIDNIGHT) == 1
    assert of_defects.flag_deferrals(MIDNIGHT) == 1
    assert set(Flag.objects.values_list("aircraft", flat=True)) == {aircraft.id}


def test_an_address_that_makes_no_header_keeps_nobody_else_waiting(
    aircraft: Aircraft, mailoutbox: list[Any], caplog: pytest.LogCaptureFixture
) -> None:
    first, second = Membership.objects.filter(club=aircraft.club).order_by("id")[:2]
    for member, address in ((first, "a@example.org\nBcc: everybody@example.org"), (second, "b@example.org")):
        member.person.email = address
        member.person.save()
        Notification.objects.create(
            club=aircraft.club, recipient=member, kind="odd", key="odd", message="Odd.", created_at=NOW
        )
    assert mail.send_notifications(NOW) == 1
    assert [message.to for message in mailoutbox] == [["b@example.org"]]
    assert Notification.objects.get(recipient=first).emailed_at is None
    assert any("could not be sent" in record.getMessage() for record in caplog.records)
