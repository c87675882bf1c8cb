"""Traces and flight-recorder files of known flights, made here and not taken from anywhere.

The aircraft flies circles of 400 m at 25 m/s around a field, is winched to its top height in 40 seconds and then sinks
evenly; on the ground it stands.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import cos, radians, sin

from fleet.flights import METRES_A_DEGREE, Fix

FIELD = (47.5, 15.5, 600.0)
RADIUS_M, SPEED_MS = 400.0, 25.0
CLIMB_SECONDS = 40
DAY = datetime(2025, 5, 14, tzinfo=UTC)


@dataclass(frozen=True)
class Hop:
    """One flight."""

    takeoff: datetime
    landing: datetime
    top_m: float = 400.0

    @property
    def seconds(self) -> float:
        return (self.landing - self.takeoff).total_seconds()

    def height_m(self, at: datetime) -> float:
        since = (at - self.takeoff).total_seconds()
        if not 0 <= since <= self.seconds:
            return 0.0
        climb = min(CLIMB_SECONDS, self.seconds / 2)
        return self.top_m * (since / climb if since < climb else (self.seconds - since) / (self.seconds - climb))


def clock(text: str, day: datetime = DAY) -> datetime:
    """``10:05`` or ``10:05:30`` UTC of a day."""
    parts = [int(part) for part in text.split(":")]
    return day + timedelta(hours=parts[0], minutes=parts[1], seconds=parts[2] if len(parts) > 2 else 0)


def hop(takeoff: str, landing: str, top_m: float = 400.0, *, day: datetime = DAY) -> Hop:
    """A flight by the clock; a landing that reads earlier is on the next day."""
    begins, ends = clock(takeoff, day), clock(landing, day)
    return Hop(begins, ends if ends > begins else ends + timedelta(days=1), top_m)


def fixes_of(hops: Sequence[Hop], *, begins: datetime, ends: datetime, interval: float = 4) -> list[Fix]:
    """A fix every so many seconds."""
    found: list[Fix] = []
    at = begins
    while at <= ends:
        moving = [min(max((at - one.takeoff).total_seconds(), 0), one.seconds) for one in hops]
        turned = SPEED_MS * sum(moving) / RADIUS_M
        north, east = RADIUS_M * sin(turned), RADIUS_M * cos(turned)
        latitude = FIELD[0] + north / METRES_A_DEGREE
        longitude = FIELD[1] + east / METRES_A_DEGREE / cos(radians(FIELD[0]))
        height = sum(one.height_m(at) for one in hops)
        found.append(Fix(at, latitude, longitude, FIELD[2] + height, len(found)))
        at += timedelta(seconds=interval)
    return found


def _angle(degrees: float, width: int, letters: str) -> str:
    minutes = round(abs(degrees) * 60_000)
    return f"{minutes // 60_000:0{width}}{minutes % 60_000:05}{letters[degrees < 0]}"


def b_record(fix: Fix, *, validity: str = "A", pressure: bool = True, extension: str = "") -> str:
    """A fix as the format writes it."""
    place = _angle(fix.latitude, 2, "NS") + _angle(fix.longitude, 3, "EW")
    altitude = f"{round(fix.altitude_m):05}"
    return f"B{fix.at:%H%M%S}{place}{validity}{altitude if pressure else '00000'}{altitude}{extension}"


def file_of(lines: Sequence[str]) -> bytes:
    """Lines as the format ends them."""
    return "".join(f"{line}\r\n" for line in lines).encode("latin-1")


def header(day: datetime = DAY, *, glider: str = "ZZ-K01", date: str | None = None) -> list[str]:
    """The records before the first fix."""
    return [
        "AXXX123 invented recorder",
        date or f"HFDTEDATE:{day:%d%m%y},01",
        "HFPLTPILOTINCHARGE:M\xfcller",
        f"HFGIDGLIDERID:{glider}",
        "I013638FXA",
    ]


def lines_of(hops: Sequence[Hop], *, margin: int = 300, interval: float = 4, **head: str) -> list[str]:
    """A whole file: ``margin`` seconds on the ground before the first take-off and after the last landing."""
    begins, ends = hops[0].takeoff - timedelta(seconds=margin), hops[-1].landing + timedelta(seconds=margin)
    fixes = fixes_of(hops, begins=begins, ends=ends, interval=interval)
    day = begins.replace(hour=0, minute=0, second=0)
    return [*header(day, **head), *(b_record(fix, extension="035") for fix in fixes), "GABCDEF0123456789"]


def igc_file(*hops: Hop, **options: object) -> bytes:
    """The bytes of such a file."""
    return file_of(lines_of(hops, **options))  # type: ignore[arg-type]
