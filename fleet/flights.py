"""Flights in a trace of positions, and their length in whole minutes. Pure: standard library only.

Thresholds: common practice, no source. A trace tells little near the ground, so where it is in doubt more is counted
and not less: a stretch is a flight if it climbs as nothing on wheels climbs in the flat, or if it covers a height
that an airfield has not. A ride on a hilly road with the recorder left on therefore shows up as flying.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from math import cos, hypot, radians

HALF_A_MINUTE = timedelta(seconds=30)
MINUTE = timedelta(minutes=1)

FAST_MS = 11.0  # moving from this ground speed on (40 km/h) ...
SLOW_MS = 7.0  # ... until it is slower than this (25 km/h)
STILL_FOR = timedelta(seconds=60)  # slow for so long, and level: on the ground
STILL_AT_THE_END = timedelta(seconds=10)  # a recorder may be switched off soon after the landing
LEVEL_M = 15.0  # noise of the altitude ...
DRIFT_MS = 0.01  # ... and how fast the pressure of the air may change it (about 4 hPa an hour)
CLIMB_M, CLIMB_MS = 20.0, 1.0  # so much higher, and as fast as that
CLIMB_WITHIN = timedelta(seconds=CLIMB_M / CLIMB_MS)
HEIGHT_M = 50.0
SHORTEST = timedelta(seconds=15)
METRES_A_DEGREE = 111_195.0  # of latitude, on a sphere of 6371 km


def whole_minutes(span: timedelta) -> int:
    """A length of time in whole minutes, half a minute upwards; integer arithmetic. The one rule for all usage."""
    return (span + HALF_A_MINUTE) // MINUTE


@dataclass(frozen=True, slots=True)
class Fix:
    """One position of a trace: aware instant, degrees, metres; ``place`` says where it stands in its source."""

    at: datetime
    latitude: float
    longitude: float
    altitude_m: float
    place: int


@dataclass(frozen=True, slots=True)
class Flight:
    """From the fix at which the aircraft began to move to the one at which it had stopped moving fast."""

    takeoff: Fix
    landing: Fix


class Airborne(ValueError):
    """The trace begins or ends in flight (``begins``), at ``fix``: its length is not known."""

    def __init__(self, fix: Fix, *, begins: bool) -> None:
        super().__init__("begins in flight" if begins else "ends in flight")
        self.fix, self.begins = fix, begins


@dataclass(frozen=True, slots=True)
class _Run:
    """Part of a trace from its first to its last fix, both included; neighbours share the fix between them."""

    moving: bool
    trace: Sequence[Fix]
    first: int
    last: int

    @property
    def fixes(self) -> Sequence[Fix]:
        return self.trace[self.first : self.last + 1]

    @property
    def lasts(self) -> timedelta:
        return self.trace[self.last].at - self.trace[self.first].at

    @property
    def height_m(self) -> float:
        altitudes = [fix.altitude_m for fix in self.fixes]
        return max(altitudes) - min(altitudes)

    def climbs(self) -> bool:
        """Whether it gains ``CLIMB_M`` at ``CLIMB_MS`` somewhere."""
        lowest: deque[Fix] = deque()  # ascending altitudes; the first is the lowest of the last ``CLIMB_WITHIN``
        for fix in self.fixes:
            while lowest and lowest[-1].altitude_m >= fix.altitude_m:
                lowest.pop()
            lowest.append(fix)
            while len(lowest) > 2 and fix.at - lowest[0].at > CLIMB_WITHIN:  # two stay: fixes may be far apart
                lowest.popleft()
            needed = max(CLIMB_M, CLIMB_MS * (fix.at - lowest[0].at).total_seconds())
            if fix.altitude_m - lowest[0].altitude_m >= needed:
                return True
        return False

    def flies(self) -> bool:
        return self.lasts >= SHORTEST and (self.climbs() or self.height_m >= HEIGHT_M)

    def rests(self, at_least: timedelta) -> bool:
        """Slow, level and long enough to stand on the ground."""
        if self.moving or self.lasts < at_least:
            return False
        altitudes = sorted(fix.altitude_m for fix in self.fixes)
        strays = len(altitudes) // 10  # at each end: single wrong altitudes say nothing
        spread = altitudes[-1 - strays] - altitudes[strays]
        return spread <= LEVEL_M + DRIFT_MS * self.lasts.total_seconds()


def ground_speed_ms(before: Fix, after: Fix) -> float:
    """Mean speed between two fixes that are some time apart."""
    east = ((after.longitude - before.longitude + 180) % 360 - 180) * cos(radians(before.latitude))
    metres = hypot(east, after.latitude - before.latitude) * METRES_A_DEGREE
    return metres / (after.at - before.at).total_seconds()


def _runs(trace: Sequence[Fix]) -> Iterator[_Run]:
    """Stretches of moving and not moving, with hysteresis between the two speeds."""
    moving, first = False, 0
    for place, (before, after) in enumerate(pairwise(trace)):
        rises = abs(after.altitude_m - before.altitude_m) >= HEIGHT_M  # while nothing was recorded
        now_moving = rises or ground_speed_ms(before, after) >= (SLOW_MS if moving else FAST_MS)
        if now_moving != moving and place > first:
            yield _Run(moving, trace, first, place)
            first = place
        moving = now_moving
    yield _Run(moving, trace, first, len(trace) - 1)


def _stretches(runs: Sequence[_Run]) -> list[_Run]:
    """Rests on the ground, and whatever lies between two of them as one moving stretch."""
    found: list[_Run] = []
    for place, run in enumerate(runs):
        at_an_end = timedelta(0) if place == 0 else STILL_AT_THE_END if place == len(runs) - 1 else STILL_FOR
        if run.rests(at_an_end):
            found.append(run)
        elif found and found[-1].moving:
            found[-1] = replace(found[-1], last=run.last)
        else:
            found.append(replace(run, moving=True))
    return found


def flights(trace: Sequence[Fix]) -> list[Flight]:
    """The flights of a trace whose instants ascend strictly. Raises Airborne when it begins or ends in flight.

    A touch-and-go is part of its flight. A stretch that only descends after a rest goes on with the flight before it:
    in a strong wind an aircraft can stand still over the ground.
    """
    if len(trace) < 2:
        return []
    stretches = _stretches(list(_runs(trace)))
    found: list[Flight] = []
    for stretch in stretches:
        if not stretch.moving or not stretch.flies():
            continue
        if stretch is stretches[0] or stretch is stretches[-1]:
            begins = stretch is stretches[0]
            raise Airborne(trace[0 if begins else -1], begins=begins)
        goes_on = bool(found) and not stretch.climbs()
        takeoff = found.pop().takeoff if goes_on else trace[stretch.first]
        found.append(Flight(takeoff, trace[stretch.last]))
    return found
