"""Flights in a trace, and the rule by which time becomes minutes."""

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.flights import Airborne, Fix, Flight, flights, ground_speed_ms, whole_minutes
from tests.fleet.igc_files import Hop, clock, fixes_of, hop

SECOND = timedelta(seconds=1)
MORNING = clock("08:00")


def trace(*hops: Hop, begins: str = "09:00", ends: str = "15:00", interval: float = 4) -> list[Fix]:
    return fixes_of(hops, begins=clock(begins), ends=clock(ends), interval=interval)


def assert_found(found: Sequence[Flight], hops: Sequence[Hop], within: float) -> None:
    assert len(found) == len(hops)
    for flight, known in zip(found, hops, strict=True):
        assert abs((flight.takeoff.at - known.takeoff).total_seconds()) <= within
        assert abs((flight.landing.at - known.landing).total_seconds()) <= within


def test_minutes_are_summed_and_converted_once() -> None:
    # Check value life.sum_minutes (derived: keep integer minutes, convert once): 2:55 h.
    spans = [timedelta(hours=h, minutes=m) for h, m in ((0, 20), (0, 20), (0, 20), (1, 47), (0, 8))]
    assert sum(map(whole_minutes, spans)) == 175


def test_three_hundred_flights_of_twenty_minutes_are_a_hundred_hours() -> None:
    # Check value life.tenths_drift (derived): in tenths of an hour ten hours would be lost.
    assert sum(whole_minutes(timedelta(minutes=20)) for _ in range(300)) == 100 * 60


@pytest.mark.parametrize(
    ("seconds", "minutes"), [(0, 0), (29, 0), (29.999999, 0), (30, 1), (89, 1), (90, 2), (150, 3), (86_399, 1440)]
)
def test_half_a_minute_counts_as_one(seconds: float, minutes: int) -> None:
    assert whole_minutes(timedelta(seconds=seconds)) == minutes


@given(st.integers(0, 10**9))
def test_rounding_is_off_by_half_a_minute_at_most(seconds: int) -> None:
    assert -30 < whole_minutes(timedelta(seconds=seconds)) * 60 - seconds <= 30


@pytest.mark.parametrize("interval", [1, 4, 12, 30])
def test_known_flights_are_found(interval: float) -> None:
    known = (hop("09:30", "09:36"), hop("10:00", "12:10", 1500), hop("14:00", "14:04:40", 250))
    assert_found(flights(trace(*known, interval=interval)), known, interval)


def test_a_rope_that_breaks_low_is_a_flight() -> None:
    known = (hop("10:00", "10:00:28", 30),)
    assert_found(flights(trace(*known, interval=1)), known, 1)


def test_noise_and_changing_pressure_on_the_ground_are_no_flight() -> None:
    chance = random.Random(3)  # noqa: S311
    noisy = [
        replace(
            fix, latitude=fix.latitude + chance.gauss(0, 2e-5), altitude_m=fix.altitude_m + chance.gauss(0, 3) + n / 150
        )
        for n, fix in enumerate(trace())
    ]
    assert flights(noisy) == []


def test_noise_does_not_move_a_flight() -> None:
    chance = random.Random(4)  # noqa: S311
    known = (hop("10:00", "10:40"), hop("11:00", "11:07"))
    noisy = [
        replace(fix, latitude=fix.latitude + chance.gauss(0, 1e-5), altitude_m=fix.altitude_m + chance.gauss(0, 2))
        for fix in trace(*known)
    ]
    assert_found(flights(noisy), known, 8)


def test_altitudes_of_satellites_alone_wander_and_leap() -> None:
    chance = random.Random(5)  # noqa: S311
    known = (hop("10:00", "10:40"), hop("11:00", "11:07"))
    noisy = [
        replace(fix, altitude_m=fix.altitude_m + chance.gauss(0, 4) + (60 if n % 97 == 0 else 0))
        for n, fix in enumerate(trace(*known))
    ]
    assert_found(flights(noisy), known, 8)


def driven(fixes: Sequence[Fix], since: str, until: str, speed_ms: float, climb_ms: float = 0.0) -> list[Fix]:
    """The same trace, shifted as if the aircraft were towed along a road in between."""
    begins, ends = clock(since), clock(until)
    moved = []
    for fix in fixes:
        seconds = (min(max(fix.at, begins), ends) - begins).total_seconds()
        shift = seconds * speed_ms / 111_195
        moved.append(replace(fix, latitude=fix.latitude + shift, altitude_m=fix.altitude_m + seconds * climb_ms))
    return moved


def test_being_towed_back_over_the_field_is_no_flight() -> None:
    known = (hop("10:00", "10:06"),)
    towed = driven(trace(*known), "10:10", "10:12", 13.0)
    assert_found(flights(towed), known, 4)


def test_pushed_to_the_start_right_before_the_launch_more_is_counted_and_not_less() -> None:
    (flight,) = flights(driven(trace(hop("10:00", "10:06")), "09:58:32", "09:59:32", 13.0))
    assert flight.takeoff.at == clock("09:58:32")
    assert abs(flight.landing.at - clock("10:06")) <= 4 * SECOND


def standing_still(fixes: Sequence[Fix], since: str, until: str) -> list[Fix]:
    """In a strong wind the aircraft stays where it is for a while, in position and height, and then goes on."""
    begins, ends = clock(since), clock(until)
    first, last = (next(fix for fix in fixes if fix.at >= at) for at in (begins, ends))
    stood = [replace(first, at=fix.at, place=fix.place) for fix in fixes if begins <= fix.at <= ends]
    north, east, down = (getattr(first, n) - getattr(last, n) for n in ("latitude", "longitude", "altitude_m"))
    after = [
        replace(fix, latitude=fix.latitude + north, longitude=fix.longitude + east, altitude_m=fix.altitude_m + down)
        for fix in fixes
        if fix.at > ends
    ]
    return [*(fix for fix in fixes if fix.at < begins), *stood, *after]


def test_standing_still_over_the_ground_is_no_landing() -> None:
    known = (hop("10:00", "12:00", 1500),)
    assert_found(flights(standing_still(trace(*known), "11:00", "11:20")), known, 4)


def test_a_touch_and_go_is_part_of_its_flight() -> None:
    known = (hop("10:00", "10:08"), hop("10:08:20", "10:16"))
    (flight,) = flights(trace(*known))
    assert (flight.takeoff.at, abs(flight.landing.at - known[1].landing) <= 4 * SECOND) == (known[0].takeoff, True)


@pytest.mark.parametrize(("begins", "ends", "first"), [("10:02", "11:00", True), ("09:50", "10:05", False)])
def test_a_trace_that_begins_or_ends_in_flight_says_so(begins: str, ends: str, first: bool) -> None:
    fixes = trace(hop("10:00", "10:30"), begins=begins, ends=ends)
    with pytest.raises(Airborne) as refusal:
        flights(fixes)
    assert refusal.value.begins is first
    assert refusal.value.fix == fixes[0 if first else -1]


def test_a_gap_in_flight_is_flown() -> None:
    known = (hop("10:00", "11:00", 1200),)
    gap = [fix for fix in trace(*known) if not clock("10:20") < fix.at < clock("10:25")]
    assert_found(flights(gap), known, 4)


def test_a_launch_in_a_gap_begins_with_the_gap() -> None:
    gap = [fix for fix in trace(hop("10:00", "10:30")) if not clock("09:59") < fix.at < clock("10:00:30")]
    (flight,) = flights(gap)
    assert flight.takeoff.at == clock("09:59")


@pytest.mark.parametrize("count", [0, 1])
def test_a_trace_without_a_way_has_no_flight(count: int) -> None:
    assert flights(trace()[:count]) == []


def test_speed_over_the_ground_also_across_the_date_line() -> None:
    east = Fix(MORNING, 0.0, 179.9999, 0.0, 0)
    west = Fix(MORNING + SECOND, 0.0, -179.9999, 0.0, 1)
    # two ten-thousandths of a degree on a sphere of 6371 km: 22.24 m (geometry)
    assert ground_speed_ms(east, west) == pytest.approx(22.239, abs=0.001)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(120, 900), st.integers(90, 5000)), min_size=1, max_size=5), st.integers(1, 10))
def test_every_flight_is_found_whatever_their_lengths(legs: list[tuple[int, int]], interval: int) -> None:
    """Pauses of two minutes and more, flights of a minute and a half and more."""
    known: list[Hop] = []
    at = MORNING
    for pause, length in legs:
        begins = at + pause * SECOND
        known.append(Hop(begins, begins + length * SECOND, 300))
        at = known[-1].landing
    fixes = fixes_of(known, begins=MORNING, ends=at + 100 * SECOND, interval=interval)
    assert_found(flights(fixes), known, interval)
