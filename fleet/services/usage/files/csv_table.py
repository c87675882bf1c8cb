"""Usage as a table: CSV in UTF-8, separated by commas or semicolons, with a header row.

Columns, in any order, all but ``date`` optional:

``date``: 2025-05-14 or 14.05.2025 · ``takeoff``, ``landing``: 10:05 or 10:05:30 in the club's zone, or with date
(2025-05-15T00:20), or with date and offset · ``minutes``: 107 or 1:47; may be blank if both times are there ·
``winch``, ``aerotow``, ``self``, ``other``: launches · ``landings``: blank means as many as launches ·
``engine_minutes`` (as minutes), ``engine_starts``, ``cycles`` · ``remark`` · ``registration``: must be this aircraft's.
"""

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

from fleet.services.usage.files import csv_cells as cells
from fleet.services.usage.files.parsed import Broken, Note, Parsed, broken, marks_match, quoted
from fleet.services.usage.lines import Line

MOST_ROWS = 5_000
NUMBERS = {
    "winch": "winch_launches",
    "aerotow": "aerotow_launches",
    "self": "self_launches",
    "other": "other_launches",
    "landings": "landings",
    "engine_starts": "engine_starts",
    "cycles": "cycles",
}
MINUTES = {"minutes": "airframe_minutes", "engine_minutes": "engine_minutes"}
TIMES = {"takeoff": "takeoff_at", "landing": "landing_at"}
COLUMNS = ("date", *TIMES, *MINUTES, *NUMBERS, "remark", "registration")
FIELD_COLUMNS = {"flown_on": "date", **{field: name for name, field in (NUMBERS | MINUTES | TIMES).items()}}

Row = Mapping[str, str]


def read(data: bytes, *, registration: str, time_zone: str) -> Parsed:
    """Every row, or why not; rows without any content are passed over."""
    lines: list[Line] = []
    rejected: list[Note] = []
    try:
        for place, row in _rows(_text(data)):
            line, notes = _line(place, row, registration, time_zone)
            rejected += notes
            lines += [line] if line else []
    except Broken as error:
        return Parsed(lines=tuple(lines), rejected=(*rejected, error.note))
    if not lines and not rejected:
        return broken(Broken(1, "no_rows", "There is nothing below the header row."))
    return Parsed(lines=tuple(lines), rejected=tuple(rejected))


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise Broken(line, "encoding", "This is not UTF-8. Save the table as CSV in UTF-8.") from error


def _records(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each record with the line on which it begins."""
    header = text.partition("\n")[0]
    delimiter = ";" if header.count(";") > header.count(",") else ","
    table = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    place = 1
    try:
        for record in table:
            yield place, record
            place = table.line_num + 1
    except csv.Error as error:
        raise Broken(place, "not_csv", f"The table cannot be read from here on: {error}.") from error


def _rows(text: str) -> Iterator[tuple[int, Row]]:
    records = _records(text)
    names = _header(next(records, (1, []))[1])
    for number, (place, record) in enumerate(records):
        if number >= MOST_ROWS:
            raise Broken(place, "too_many_rows", f"At most {MOST_ROWS} rows are read. Split the table.")
        row = {name: cell.strip() for name, cell in zip(names, record, strict=False)}
        if any(cell.strip() for cell in record):
            surplus = any(cell.strip() for cell in record[len(names) :])
            yield place, row | ({"": "surplus"} if surplus else {})


def _header(record: Sequence[str]) -> list[str]:
    names = [name.strip().casefold().replace(" ", "_") for name in record]
    while names and not names[-1]:
        names.pop()
    known = ", ".join(COLUMNS)
    for name in names:
        if name not in COLUMNS:
            raise Broken(1, "unknown_column", f"The first row names no known column {quoted(name)}. Known: {known}.")
        if names.count(name) > 1:
            raise Broken(1, "repeated_column", f"The first row names {name} twice.")
    if "date" not in names:
        raise Broken(1, "no_date_column", f"The first row names the columns, date among them. Known: {known}.")
    return names


def _line(place: int, row: Row, registration: str, time_zone: str) -> tuple[Line | None, list[Note]]:
    """The line of a row, or everything that is wrong with its cells."""
    notes = [Note(place, code, detail) for code, detail in _row_problems(row, registration)]
    values: dict[str, Any] = {"place": place}
    for field, cell in _cells(row, time_zone):
        try:
            values[field] = cell()
        except cells.Unreadable as error:
            notes.append(Note(place, "unreadable", f"Column {FIELD_COLUMNS.get(field, field)}: {error}"))
    return (None if notes else Line(**values)), notes


def _row_problems(row: Row, registration: str) -> Iterator[tuple[str, str]]:
    if "" in row:
        yield "surplus_cells", "This row has more cells than there are columns."
    other = row.get("registration", "")
    if other and not marks_match(other, registration):
        yield "other_aircraft", f"Column registration: the row is of {quoted(other)}, not of {registration}."


def _cells(row: Row, time_zone: str) -> Iterator[tuple[str, Callable[[], object]]]:
    """Field and how to read it, for each cell that says something."""
    day = row.get("date", "")
    yield "flown_on", partial(cells.day, day)
    yield "remark", partial(cells.remark, row.get("remark", ""))
    for kinds, reading in ((NUMBERS, cells.whole), (MINUTES, cells.minutes)):
        for name, field in kinds.items():
            if row.get(name):
                yield field, partial(reading, row[name])
    for name, field in TIMES.items():
        if row.get(name):
            yield field, partial(cells.instant, row[name], day, time_zone)
