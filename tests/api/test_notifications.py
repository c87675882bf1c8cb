"""Notifications over HTTP: everybody's own."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from fleet.models import Membership, Notification, Role
from tests.api.cast import Cast, make_cast, not_there
from tests.api.clients import anonymous, problem
from tests.factories import NOW, make_aircraft

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/notifications"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def notify(member: Membership, key: str, **more: Any) -> Notification:
    fields = {"kind": "deferral_ending", "message": "It ends tomorrow.", "created_at": NOW} | more
    return Notification.objects.create(club=member.club, recipient=member, key=key, **fields)


def listed(program: Any, query: str = "") -> list[dict[str, Any]]:
    answer = program.get(f"{ADDRESS}{query}")
    assert answer.status_code == 200, answer.content
    results: list[dict[str, Any]] = answer.json()["results"]
    return results


def test_ones_own_newest_first(cast: Cast) -> None:
    officer = cast.members[Role.TECHNICAL_OFFICER]
    aircraft = make_aircraft(cast.club)
    first = notify(officer, "1", aircraft=aircraft)
    second = notify(officer, "2", created_at=NOW + timedelta(hours=1))
    notify(cast.members[Role.PILOT], "1")
    found = listed(cast.officer)
    assert [one["id"] for one in found] == [str(second.id), str(first.id)]
    assert (found[1]["registration"], found[1]["aircraft"]) == (aircraft.registration, str(aircraft.id))
    assert (found[0]["registration"], found[0]["read_at"]) == (None, None)
    assert [one["id"] for one in listed(cast.officer, f"?aircraft={aircraft.id}")] == [str(first.id)]


def test_reading_is_noted_once(cast: Cast) -> None:
    one = notify(cast.members[Role.TECHNICAL_OFFICER], "1")
    before = timezone.now()
    done = cast.officer.post(f"{ADDRESS}/{one.id}/read")
    assert done.status_code == 200
    read_at = Notification.objects.get().read_at
    assert read_at is not None
    assert before <= read_at <= timezone.now()
    assert cast.officer.post(f"{ADDRESS}/{one.id}/read", {}).json() == done.json()
    assert cast.officer.get(f"{ADDRESS}/{one.id}").json() == done.json()
    assert listed(cast.officer, "?unread=true") == []
    assert len(listed(cast.officer, "?unread=false")) == 1


def test_an_auditor_reads_their_own_too(cast: Cast) -> None:
    one = notify(cast.members[Role.AUDITOR], "1")
    assert cast.auditor.post(f"{ADDRESS}/{one.id}/read").status_code == 200


def test_those_of_others_are_not_there(cast: Cast) -> None:
    one = notify(cast.members[Role.TECHNICAL_OFFICER], "1")
    for program in (cast.pilot, cast.administrator, make_cast().officer):
        not_there(program, f"{ADDRESS}/{one.id}")
        problem(program.post(f"{ADDRESS}/{one.id}/read"), 404, "not_found")
        assert listed(program) == []
    problem(anonymous().get(ADDRESS), 401, "not_authenticated")
    assert Notification.objects.get().read_at is None


def test_nothing_is_sent_with_it(cast: Cast) -> None:
    one = notify(cast.members[Role.TECHNICAL_OFFICER], "1")
    problem(cast.officer.post(f"{ADDRESS}/{one.id}/read", {"read": False}), 422, "invalid")


def test_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    officer = cast.members[Role.TECHNICAL_OFFICER]
    aircraft = make_aircraft(cast.club)
    listed(cast.officer)  # notes the use of the token
    for number in range(3):
        notify(officer, str(number), aircraft=aircraft)
        with django_assert_num_queries(2):  # token, notifications
            assert len(listed(cast.officer)) == number + 1
