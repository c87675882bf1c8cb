"""When time alone changes a due state."""

from datetime import UTC, datetime

from fleet.airworthiness import due
from fleet.airworthiness.due.turning import due_ends_at, notice_opens_at, tolerance_ends_at
from tests.airworthiness.due_builders import DUE_TODAY, again, done, months, schedule, usage

BERLIN = "Europe/Berlin"


def test_the_turns_are_midnights_in_the_zone_of_the_club() -> None:
    assert due.turns(DUE_TODAY, BERLIN) == (
        datetime(2026, 4, 9, 22, 0, tzinfo=UTC),  # the notice opens with the 10th
        datetime(2026, 5, 10, 22, 0, tzinfo=UTC),
        datetime(2026, 6, 10, 22, 0, tzinfo=UTC),
    )
    assert due.turns(DUE_TODAY, "UTC")[0] == datetime(2026, 4, 10, 0, 0, tzinfo=UTC)


def test_each_turn_has_a_name() -> None:
    limit = DUE_TODAY.calendar
    assert limit is not None
    edges = (notice_opens_at(limit, BERLIN), due_ends_at(limit, BERLIN), tolerance_ends_at(limit, BERLIN))
    assert edges == due.turns(DUE_TODAY, BERLIN)


def test_without_notice_and_tolerance_there_are_two() -> None:
    limits = again(schedule(months(12)), done("2025-05-10"))
    assert due.turns(limits, "UTC") == (
        datetime(2026, 5, 10, 0, 0, tzinfo=UTC),
        datetime(2026, 5, 11, 0, 0, tzinfo=UTC),
    )


def test_time_alone_does_not_change_what_is_limited_by_usage() -> None:
    assert due.turns(again(schedule(usage(100)), done(minutes=0)), BERLIN) == ()
