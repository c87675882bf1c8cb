"""A daily inspection counts on its flying day, which is a date in the club's zone, and on no other."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from fleet.models import Aircraft, Club, Membership
from tests.factories import NOW
from tests.inspections.walks import ready, walk

pytestmark = pytest.mark.django_db

MOMENT = timedelta(microseconds=1)


def utc(month: int, day: int, hour: int, minute: int = 0, year: int = 2025) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


# Expected instants worked out by hand from the published offsets and changes of the clocks (tz database).
@pytest.mark.parametrize(
    ("time_zone", "completed_at", "over_at"),
    [
        ("Europe/Vienna", utc(5, 14, 6, 0), utc(5, 14, 22, 0)),
        ("Europe/Vienna", utc(5, 14, 21, 59), utc(5, 14, 22, 0)),  # one minute before midnight
        ("Europe/Vienna", utc(5, 14, 22, 0), utc(5, 15, 22, 0)),  # at midnight: the new day's
        ("Europe/Vienna", utc(3, 29, 23, 30), utc(3, 30, 22, 0)),  # the day of 23 hours
        ("Europe/Vienna", utc(10, 25, 22, 30), utc(10, 26, 23, 0)),  # the day of 25 hours
        ("Europe/Vienna", utc(12, 31, 12, 0), utc(12, 31, 23, 0)),
        ("UTC", utc(5, 14, 23, 59), utc(5, 15, 0, 0)),
        ("Pacific/Auckland", utc(5, 14, 11, 59), utc(5, 14, 12, 0)),
        ("America/St_Johns", utc(5, 15, 2, 29), utc(5, 15, 2, 30)),
        ("Africa/Cairo", utc(4, 24, 21, 30), utc(4, 24, 22, 0)),  # no 00:00 on the 25th, a Friday
        ("Africa/Cairo", utc(4, 24, 22, 0), utc(4, 25, 21, 0)),
        ("Africa/Cairo", utc(10, 30, 20, 30), utc(10, 30, 22, 0)),  # its last hour comes twice
    ],
)
def test_it_counts_to_the_end_of_its_day(
    aircraft: Aircraft,
    pilot: Membership,
    second: Membership,
    time_zone: str,
    completed_at: datetime,
    over_at: datetime,
) -> None:
    Club.objects.update(time_zone=time_zone)
    done = walk(aircraft, by=pilot, second=second, at=completed_at)
    assert done.verdict.ready_today
    assert ready(aircraft, over_at - MOMENT)
    assert not ready(aircraft, over_at)


def test_an_inspection_across_midnight_belongs_to_the_day_on_which_it_ends(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    walk(aircraft, by=pilot, second=second, at=utc(5, 14, 22, 5))  # 23:45 to 00:05 in the club's zone
    assert ready(aircraft, utc(5, 15, 21, 59))
    assert not ready(aircraft, utc(5, 15, 22, 0))


def test_yesterdays_inspection_put_down_today_does_not_count(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    late: dict[str, Any] = {"started_at": utc(5, 13, 8), "completed_at": utc(5, 13, 9)}
    assert not walk(aircraft, by=pilot, second=second, at=NOW, **late).verdict.ready_today


def test_this_mornings_inspection_put_down_at_noon_counts(
    aircraft: Aircraft, pilot: Membership, second: Membership
) -> None:
    late: dict[str, Any] = {"started_at": utc(5, 14, 4), "completed_at": utc(5, 14, 5)}
    assert walk(aircraft, by=pilot, second=second, at=utc(5, 14, 10), **late).verdict.ready_today


def test_the_next_days_inspection_makes_ready_again(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    for day in (14, 15, 16):
        assert not ready(aircraft, utc(5, day, 6))
        walk(aircraft, by=pilot, second=second, at=utc(5, day, 7))
        assert ready(aircraft, utc(5, day, 7))
