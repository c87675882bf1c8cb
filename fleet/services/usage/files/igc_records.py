"""Reading flight-recorder files in the open IGC format of the FAI (Technical Specification for IGC-Approved GNSS Flight
Recorders, Appendix A), lenient with what says nothing about flights, strict with what does.

Records are decoded by aerofiles. Its own assembly of them is not used: it drops a broken fix without saying where.
"""

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from aerofiles.igc.reader import LowLevelReader

from fleet.flights import Fix
from fleet.services.usage.files.parsed import Broken

BEGINNING = re.compile(r"A[0-9A-Za-z]{3}")
FIX = re.compile(r"B\d{6}\d{7}[NS]\d{8}[EW][AV](?:-\d{4}|\d{5})(?:-\d{4}|\d{5})", re.ASCII)
UNREADABLE = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
VALID = "A"  # a fix in three dimensions; V: in two, or none
HALF_A_DAY = timedelta(hours=12)
NEARLY_MIDNIGHT = time(23, 50)
DAY = timedelta(days=1)


@dataclass(slots=True)
class Trace:
    """What a file says. ``glider`` is the mark entered in the recorder, with its line; ``signed``: it has a G record."""

    fixes: list[Fix] = field(default_factory=list)
    glider: tuple[int, str] | None = None
    signed: bool = False
    lines: int = 0


@dataclass(slots=True)
class _Calendar:
    """The UTC day of the fixes: a header names it, and times that start again at midnight go on to the next."""

    day: date | None = None
    named: date | None = None  # by a later header, just before or after midnight
    last: datetime | None = None

    def name(self, day: date | None, line: int) -> None:
        if day is None:
            raise Broken(line, "no_date", "The recorder did not know the date of the flight.")
        if self.last is None or self.day is None:
            self.day = day
        elif day == self.day + DAY:
            self.named = day
        elif day != self.day:
            raise Broken(line, "date", "The date leaps. Split the file by days.")

    def instant(self, at: time, line: int) -> datetime:
        """When a fix was, in the order of the file; equal to the one before if it is of the same second."""
        if self.day is None:
            raise Broken(line, "no_date", "No date (record HFDTE) stands before this fix.")
        found = datetime.combine(self.day, at, UTC)
        if self.last is not None and found < self.last - HALF_A_DAY:
            self.day += DAY
            found += DAY
        if self.last is not None and found < self.last:
            raise Broken(line, "time", "The time of this fix lies before that of the fix before it.")
        self._expect_named(at, line)
        self.last = found
        return found

    def _expect_named(self, at: time, line: int) -> None:
        if self.named == self.day:
            self.named = None
        elif self.named is not None and at < NEARLY_MIDNIGHT:
            raise Broken(line, "date", "The date goes on but the times do not start again. Split the file by days.")


@dataclass(slots=True)
class _Reading:
    """The state of reading one file."""

    trace: Trace = field(default_factory=Trace)
    calendar: _Calendar = field(default_factory=_Calendar)
    raw: list[tuple[int, datetime, dict[str, Any]]] = field(default_factory=list)

    def header(self, line: int, told: dict[str, Any]) -> None:
        if "utc_date" in told:
            self.calendar.name(told["utc_date"], line)
        if told.get("glider_registration"):
            self.trace.glider = (line, told["glider_registration"])

    def fix(self, line: int, told: dict[str, Any]) -> None:
        if told["validity"] != VALID:
            return
        before = self.calendar.last
        at = self.calendar.instant(told["time"], line)
        if at != before:  # some recorders write twice a second
            self.raw.append((line, at, told))

    def finished(self) -> Trace:
        """With the pressure altitude if there is one: it is the steadier of the two."""
        altitude = "pressure_alt" if any(told["pressure_alt"] for _, _, told in self.raw) else "gps_alt"
        self.trace.fixes = [Fix(at, told["lat"], told["lon"], told[altitude], line) for line, at, told in self.raw]
        return self.trace


def read(data: bytes) -> Trace:
    """The valid fixes of a file. Raises Broken with the line from which on it cannot be believed."""
    lines = list(io.StringIO(data.decode("latin-1"), newline=None))  # ASCII by the specification, names often are not
    reading = _Reading()
    reader = LowLevelReader(_sound(lines))
    for kind, told, error in reader:
        line = reader.line_number
        if error is not None and (kind in "AB" or lines[line - 1][2:5] == "DTE"):
            raise Broken(line, "unreadable", "This line cannot be read. Transfer the file from the recorder again.")
        if error is None:
            _take(reading, kind, line, told)
    reading.trace.lines = len(lines)
    return reading.finished()


def _take(reading: _Reading, kind: str, line: int, told: Any) -> None:
    if kind == "H":
        reading.header(line, told)
    elif kind == "B":
        reading.fix(line, told)
    elif kind == "G":
        reading.trace.signed = True


def _sound(lines: Iterable[str]) -> Iterator[str]:
    """The lines, each looked at as text first. A fix is as long as the I record says, else it was cut off."""
    length, begun = 0, False
    for number, line in enumerate(lines, start=1):
        text = line.rstrip()
        if text and not begun and not BEGINNING.match(text):
            raise Broken(number, "not_igc", "An IGC file begins with an A record that names the recorder.")
        begun = begun or bool(text)
        if UNREADABLE.search(text) or (text and not "A" <= text[0] <= "Z"):
            raise Broken(number, "unreadable", "This is no record of an IGC file. Transfer it from the recorder again.")
        if text.startswith("I"):
            length = _length(text)
        if text.startswith("B") and (not FIX.match(text) or len(text) < length):
            raise Broken(
                number, "broken_fix", "This fix is broken or cut off. Transfer the file from the recorder again."
            )
        yield line


def _length(extensions: str) -> int:
    """Characters of a B record: the I record tells first and last byte of each extension. 0 if that cannot be read."""
    ends = re.findall(r"\d\d(\d\d)[A-Z0-9]{3}", extensions[3:], re.ASCII)
    return max(map(int, ends), default=0)
