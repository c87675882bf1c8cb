"""Flying days where clocks are put forward and back."""

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.airworthiness.flying_day import edges, flying_day
from tests.airworthiness.strategies import TIME_ZONES

MOMENT = timedelta(microseconds=1)


def utc(year: int, month: int, day: int, hour: int, minute: int) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("instant", "time_zone", "expected"),
    [
        (utc(2026, 5, 10, 21, 59), "Europe/Berlin", date(2026, 5, 10)),
        (utc(2026, 5, 10, 22, 0), "Europe/Berlin", date(2026, 5, 11)),
        (utc(2026, 5, 10, 22, 0), "UTC", date(2026, 5, 10)),
        (utc(2026, 5, 10, 11, 0), "Pacific/Kiritimati", date(2026, 5, 11)),
        # The Azores put clocks forward from 00:00 to 01:00 on 2026-03-29: the day begins at 01:00.
        (utc(2026, 3, 29, 0, 59), "Atlantic/Azores", date(2026, 3, 28)),
        (utc(2026, 3, 29, 1, 0), "Atlantic/Azores", date(2026, 3, 29)),
        # Newfoundland put clocks back at 00:01 on 2010-11-07 to 23:01 on the 6th: the 6th does not come back.
        (utc(2010, 11, 7, 2, 29), "America/St_Johns", date(2010, 11, 6)),
        (utc(2010, 11, 7, 2, 30), "America/St_Johns", date(2010, 11, 7)),
        (utc(2010, 11, 7, 2, 31), "America/St_Johns", date(2010, 11, 7)),
        (utc(2010, 11, 7, 3, 30), "America/St_Johns", date(2010, 11, 7)),
        (utc(2010, 11, 8, 3, 29), "America/St_Johns", date(2010, 11, 7)),
        # Samoa had no 2011-12-30.
        (utc(2011, 12, 30, 9, 59), "Pacific/Apia", date(2011, 12, 29)),
        (utc(2011, 12, 30, 10, 0), "Pacific/Apia", date(2011, 12, 31)),
    ],
)
def test_an_instant_belongs_to_one_flying_day(instant: datetime, time_zone: str, expected: date) -> None:
    # Expected values worked out by hand from the published changes of the clocks (tz database).
    assert flying_day(instant, time_zone) == expected


def test_the_offset_of_an_instant_does_not_matter() -> None:
    noon = utc(2026, 5, 10, 22, 30)
    elsewhere = noon.astimezone(timezone(timedelta(hours=-9)))
    assert flying_day(elsewhere, "Europe/Berlin") == flying_day(noon, "Europe/Berlin") == date(2026, 5, 11)


def test_a_naive_instant_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone: give one"):
        flying_day(datetime(2026, 5, 10, 12, 0), "Europe/Berlin")


def test_the_edges_are_the_day() -> None:
    assert edges(utc(2026, 5, 10, 12, 0), "Europe/Berlin") == (utc(2026, 5, 9, 22, 0), utc(2026, 5, 10, 22, 0))


@given(
    time_zone=st.sampled_from(TIME_ZONES),
    instant=st.datetimes(datetime(2005, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC)),
    later=st.timedeltas(timedelta(0), timedelta(days=2)),
)
def test_days_never_run_backwards_and_their_edges_hold(time_zone: str, instant: datetime, later: timedelta) -> None:
    day = flying_day(instant, time_zone)
    start, end = edges(instant, time_zone)
    assert start <= instant < end
    assert {flying_day(start, time_zone), flying_day(end - MOMENT, time_zone)} == {day}
    assert flying_day(start - MOMENT, time_zone) < day < flying_day(end, time_zone)
    assert flying_day(instant + later, time_zone) >= day
    shown = instant.astimezone(ZoneInfo(time_zone)).date()
    assert day in (shown, shown + timedelta(days=1))
