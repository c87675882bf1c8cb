"""What becomes due in a planned flight."""

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due import Dimension, Readings
from tests.airworthiness.due_builders import CYCLES, LAUNCHES, MINUTES, again, done, h, months, schedule, usage

LIMITS = again(schedule(usage(h(100)), usage(10, LAUNCHES)), done("2026-05-10", h(1900), launches=90))


@pytest.mark.parametrize(
    ("now", "flight", "expected"),
    [
        # Check value T10 and its shorter flight: AMC M.A.301(a). Next check at 2000.0 h, now 1999.2 h.
        (h(1999.2), h(0.5), ()),
        (h(1999.2), h(1.0), (MINUTES,)),
        (h(1999.2), h(0.8) - 1, ()),
        (h(1999.2), h(0.8), (MINUTES,)),  # reached with the last minute
        (h(2000), h(0.1), (MINUTES,)),
        (h(2000), 0, ()),
    ],
)
def test_a_flight_that_reaches_the_limit(now: int, flight: int, expected: tuple[Dimension, ...]) -> None:
    readings = {MINUTES: now, LAUNCHES: 95}
    assert due.becomes_due_in_flight(LIMITS, readings, {MINUTES: flight, LAUNCHES: 1}) == expected


def test_every_dimension_is_told_in_order() -> None:
    readings = {LAUNCHES: 99, MINUTES: h(1999)}
    assert due.becomes_due_in_flight(LIMITS, readings, {LAUNCHES: 1, MINUTES: h(1)}) == (MINUTES, LAUNCHES)
    assert due.becomes_due_in_flight(LIMITS, readings, {LAUNCHES: 1}) == (LAUNCHES,)
    assert due.becomes_due_in_flight(LIMITS, readings, {}) == ()


@pytest.mark.parametrize("readings", [{}, {MINUTES: h(1950)}])
def test_what_is_not_known_counts_as_reached(readings: Readings) -> None:
    assert LAUNCHES in due.becomes_due_in_flight(LIMITS, readings, {MINUTES: 1})
    unknown = due.limits(schedule(usage(10, CYCLES), months(12)), None, None, None)
    assert due.becomes_due_in_flight(unknown, readings, {}) == (CYCLES,)
