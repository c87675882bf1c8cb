"""Limits by calendar."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pytest

from fleet.airworthiness.limits import deferral_deadline, end_of_day, occurrence_report_deadline


def utc(year: int, month: int, day: int, hour: int, minute: int) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "time_zone", "expected"),
    [
        (date(2026, 5, 10), "UTC", utc(2026, 5, 11, 0, 0)),
        (date(2026, 5, 10), "Europe/Berlin", utc(2026, 5, 10, 22, 0)),
        (date(2026, 12, 31), "Europe/Berlin", utc(2026, 12, 31, 23, 0)),
        (date(2026, 3, 29), "Europe/Berlin", utc(2026, 3, 29, 22, 0)),  # the day of 23 hours
        (date(2026, 10, 25), "Europe/Berlin", utc(2026, 10, 25, 23, 0)),  # the day of 25 hours
        (date(2026, 3, 28), "Atlantic/Azores", utc(2026, 3, 29, 1, 0)),  # no 00:00 on the 29th
        (date(2026, 10, 24), "Atlantic/Azores", utc(2026, 10, 25, 0, 0)),  # 00:00 on the 25th comes twice: the first
        (date(2018, 11, 3), "America/Sao_Paulo", utc(2018, 11, 4, 3, 0)),  # no 00:00 on the 4th
        (date(2018, 2, 17), "America/Sao_Paulo", utc(2018, 2, 18, 3, 0)),  # 23:00 on the 17th comes twice
        (date(2010, 11, 6), "America/St_Johns", utc(2010, 11, 7, 2, 30)),  # the first of two midnights
        (date(2011, 12, 29), "Pacific/Apia", utc(2011, 12, 30, 10, 0)),
        (date(2011, 12, 30), "Pacific/Apia", utc(2011, 12, 30, 10, 0)),  # a day that never was
    ],
)
def test_the_end_of_a_day(day: date, time_zone: str, expected: datetime) -> None:
    # Expected values worked out by hand from the published changes of the clocks (tz database).
    assert end_of_day(day, time_zone) == expected


def test_the_end_of_a_day_is_told_in_utc() -> None:
    assert end_of_day(date(2026, 5, 10), "Europe/Berlin").tzinfo is UTC


def test_an_unknown_time_zone_is_no_time_zone() -> None:
    with pytest.raises(ZoneInfoNotFoundError):
        end_of_day(date(2026, 5, 10), "Europe/Nowhere")


@pytest.mark.parametrize(
    ("recorded_on", "category", "expected"),
    [
        # Check values T43 to T45, T47, T48: FAA MMEL Policy Letter 25, CS MMEL.105.
        (date(2026, 1, 26), "B", date(2026, 1, 29)),
        (date(2026, 1, 26), "C", date(2026, 2, 5)),
        (date(2026, 1, 26), "D", date(2026, 5, 26)),
        (date(2025, 2, 26), "B", date(2025, 3, 1)),
        (date(2025, 12, 30), "C", date(2026, 1, 9)),
        # The same paragraph in a leap year: standards, MEL-4.
        (date(2024, 2, 26), "B", date(2024, 2, 29)),
        (date(2024, 1, 26), "D", date(2024, 5, 25)),
    ],
)
def test_the_last_day_of_a_category(recorded_on: date, category: str, expected: date) -> None:
    assert deferral_deadline(recorded_on, category) == expected


def test_a_deferral_of_category_b_may_be_flown_with_to_the_end_of_its_last_day() -> None:
    # Check value T43: recorded 2026-01-26 10:00, flyable to the end of 2026-01-29.
    last_day = deferral_deadline(date(2026, 1, 26), "B")
    assert end_of_day(last_day, "Europe/Berlin") == datetime(2026, 1, 30, 0, 0, tzinfo=ZoneInfo("Europe/Berlin"))


def test_category_a_counts_the_days_of_its_remark() -> None:
    assert deferral_deadline(date(2026, 1, 26), "A", 1) == date(2026, 1, 27)
    assert deferral_deadline(date(2026, 1, 26), "A", days=5) == date(2026, 1, 31)


@pytest.mark.parametrize(
    ("category", "days", "match"),
    [
        ("A", None, "no default interval"),  # check value T49: FAA MMEL Policy Letter 25
        ("A", 0, "no default interval"),
        ("A", -3, "no default interval"),
        ("B", 3, "has a fixed interval"),
        ("D", 10, "has a fixed interval"),
        ("E", None, "use A, B, C or D"),
        ("b", None, "use A, B, C or D"),
        ("", None, "use A, B, C or D"),
    ],
)
def test_an_interval_that_cannot_be_told_is_an_error(category: str, days: int | None, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        deferral_deadline(date(2026, 1, 26), category, days)


def test_an_occurrence_is_reported_within_72_hours_of_becoming_aware() -> None:
    # Check value T51: Regulation (EU) 376/2014, Article 4(7).
    assert occurrence_report_deadline(utc(2025, 7, 4, 18, 30)) == utc(2025, 7, 7, 18, 30)


def test_the_72_hours_do_not_follow_the_clock_on_the_wall() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    aware_at = datetime(2026, 3, 28, 12, 0, tzinfo=berlin)  # an hour is lost the night after
    deadline = occurrence_report_deadline(aware_at)
    assert deadline - aware_at.astimezone(UTC) == timedelta(hours=72)
    assert deadline == datetime(2026, 3, 31, 13, 0, tzinfo=berlin)


def test_a_deadline_needs_an_aware_instant() -> None:
    with pytest.raises(ValueError, match="no time zone: give one"):
        occurrence_report_deadline(datetime(2025, 7, 4, 18, 30))
