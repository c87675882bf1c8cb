"""Flight time."""

from decimal import Decimal

import pytest

from fleet.airworthiness.flight_time import decimal_hours, minutes_of
from fleet.airworthiness.sentences import hours


def test_minutes_are_added_before_anything_is_rounded() -> None:
    # Check value life.sum_minutes: own example from the stated formula (keep integer minutes; convert once).
    total = sum(minutes_of(flight) for flight in ("0:20", "0:20", "0:20", "1:47", "0:08"))
    assert total == 175
    assert hours(total) == "2:55 h"
    assert decimal_hours(total, 7) == Decimal("2.9166667")


def test_tenths_of_an_hour_lose_hours() -> None:
    # Check value life.tenths_drift: own example from the stated formula.
    flights = [minutes_of("0:20")] * 300
    in_tenths = sum(decimal_hours(flight) for flight in flights)
    assert decimal_hours(sum(flights)) == Decimal("100.0")
    assert in_tenths == Decimal("90.0")


@pytest.mark.parametrize(
    ("minutes", "places", "expected"),
    [
        (3, 1, "0.1"),
        (2, 1, "0.0"),
        (9, 1, "0.2"),
        (-3, 1, "-0.1"),
        (90, 0, "2"),
        (0, 2, "0.00"),
        (600_003, 1, "10000.1"),
    ],
)
def test_half_of_the_last_place_is_rounded_away_from_zero(minutes: int, places: int, expected: str) -> None:
    assert str(decimal_hours(minutes, places)) == expected


@pytest.mark.parametrize("text", ["", "20", "1:5", "1:60", "-1:00", "1:00 ", "1.5", "1:00:00", "\u0661:\u0660\u0660"])
def test_what_is_no_flight_time_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="write hours and minutes"):
        minutes_of(text)
