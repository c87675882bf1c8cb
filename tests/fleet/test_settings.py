"""The club's settings: bounded, told, and every aircraft is judged by them at once."""

from datetime import timedelta
from typing import Any

import pytest

from fleet.models import Aircraft, AssessmentPeriod, Club, Event, Membership
from fleet.services import people
from tests.factories import NOW, fresh, make_aircraft, reported
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def change(club: Club, by: Membership, **changes: Any) -> Club:
    return people.change_settings(club, by=by, at=NOW, changes=changes)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("triage_limit_days", 1, 30),
        ("decision_limit_days", 1, 60),
        ("repeat_count", 2, 20),
        ("repeat_within_days", 1, 366),
        ("repeat_within_flights", 1, 1000),
        ("document_notice_days", 0, 180),
    ],
)
def test_settings_are_bounded(club: Club, administrator: Membership, name: str, least: int, most: int) -> None:
    for value in (least, most):
        assert getattr(change(club, administrator, **{name: value}), name) == value
    for value in (least - 1, most + 1):
        if value < 0:
            continue
        with unchanged(), taken_back(), pytest.raises(Exception, match="club_"):
            change(club, administrator, **{name: value})


def test_the_defaults_ground_sooner_rather_than_later() -> None:
    policy = Club(name="New").policy()
    assert (policy.triage_limit_days, policy.decision_limit_days) == (3, 7)
    assert policy.required_documents == ("airworthiness_review_certificate", "insurance")


def test_every_aircraft_of_the_club_is_judged_by_them_at_once(
    aircraft: Aircraft, club: Club, administrator: Membership
) -> None:
    sister = make_aircraft(club, aircraft_type=aircraft.aircraft_type)
    reported(aircraft, at=NOW - 2 * DAY)
    assert fresh(aircraft).airworthiness.status == "limited"
    change(club, administrator, triage_limit_days=1)
    assert fresh(aircraft).airworthiness.status == "grounded"
    change(club, administrator, required_documents=["weighing_report"])
    assert fresh(sister).airworthiness.status == "grounded"
    told = Event.objects.filter(kind="club_settings_change")
    assert {event.aircraft_id for event in told} == {None, aircraft.id, sister.id}


def test_what_was_shown_before_the_change_stays_shown(
    aircraft: Aircraft, club: Club, administrator: Membership
) -> None:
    # the limit of one day passed yesterday by the new setting; until now the old one was shown
    reported(aircraft, at=NOW - 2 * DAY)
    change(club, administrator, triage_limit_days=1)
    last, before = AssessmentPeriod.objects.filter(aircraft=aircraft).order_by("-shown_from")[:2]
    assert (before.status, before.shown_to) == ("limited", NOW)
    assert (last.status, last.shown_from) == ("grounded", NOW)


def test_what_does_not_differ_is_no_change(club: Club, administrator: Membership) -> None:
    with unchanged():
        change(club, administrator, triage_limit_days=3)
