"""Usage as a table: what is read, and every row that cannot be."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.services.usage.files import csv_table
from fleet.services.usage.files.parsed import Parsed
from fleet.services.usage.lines import Line, settled

HEAD = "date;takeoff;landing;minutes;winch;aerotow;remark"


def read(*rows: str, head: str = HEAD, encoding: str = "utf-8", zone: str = "Europe/Vienna") -> Parsed:
    return csv_table.read("\n".join((head, *rows)).encode(encoding), registration="ZZ-K01", time_zone=zone)


def only(parsed: Parsed) -> Line:
    assert parsed.rejected == ()
    (line,) = parsed.lines
    return line


def refused(parsed: Parsed) -> list[tuple[int, str]]:
    return [(note.line, note.code) for note in parsed.rejected]


def test_a_row_in_full() -> None:
    head = "Date,Takeoff,Landing,Minutes,Winch,Aerotow,Self,Other,"
    head += "Landings,Engine minutes,Engine starts,Cycles,Remark,Registration"
    line = only(read('2025-05-14,10:05,11:52:00,1:47,1,0,2,3,4,0:12,5,6,"Cloud, then sun",zz-k01', head=head))
    assert line == Line(
        flown_on=date(2025, 5, 14),
        takeoff_at=line.takeoff_at,
        landing_at=line.landing_at,
        airframe_minutes=107,
        winch_launches=1,
        aerotow_launches=0,
        self_launches=2,
        other_launches=3,
        landings=4,
        engine_minutes=12,
        engine_starts=5,
        cycles=6,
        remark="Cloud, then sun",
        place=2,
    )
    assert line.takeoff_at == datetime(2025, 5, 14, 8, 5, tzinfo=UTC)
    assert line.landing_at == datetime(2025, 5, 14, 9, 52, tzinfo=UTC)


def test_what_is_blank_is_left_to_follow() -> None:
    line = only(read("14.05.2025;;;63;4;;"))
    assert line == Line(flown_on=date(2025, 5, 14), airframe_minutes=63, winch_launches=4, place=2)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("delimiter", [";", ","])
def test_encodings_separators_and_line_endings(encoding: str, ending: str, delimiter: str) -> None:
    text = ending.join((HEAD, "2025-05-14;;;10;1;;Müller", "")).replace(";", delimiter)
    parsed = csv_table.read(text.encode(encoding), registration="ZZ-K01", time_zone="UTC")
    assert only(parsed).remark == "Müller"


def test_rows_count_by_the_lines_of_the_file() -> None:
    parsed = read("", '2025-05-14;;;10;1;;"on two', 'lines"', ";;;;;;", "2025-05-14;;;x;1;;")
    assert [line.place for line in parsed.lines] == [3]
    assert only_remark(parsed) == "on two lines"
    assert refused(parsed) == [(6, "unreadable")]


def only_remark(parsed: Parsed) -> str:
    return parsed.lines[0].remark


CELLS: list[tuple[str, str]] = [
    ("2025-02-29;;;10;1;;", "'2025-02-29' is no day of the calendar."),
    ("14/05/2025;;;10;1;;", "'14/05/2025' is no date like 2025-05-14 or 14.05.2025."),
    (";;;10;1;;", "'' is no date"),
    ("2025-05-14;;;-10;1;;", "'-10' is neither whole minutes (107) nor hours and minutes (1:47)."),
    ("2025-05-14;;;1.5;1;;", "'1.5' is neither"),
    ("2025-05-14;;;1:60;1;;", "'1:60' is neither"),
    ("2025-05-14;;;1e3;1;;", "'1e3' is neither"),
    ("2025-05-14;;;\u0661\u0662;1;;", "is neither"),
    ("2025-05-14;;;10;-1;;", "'-1' is negative; usage never is."),
    ("2025-05-14;;;10;one;;", "'one' is no whole number."),
    ("2025-05-14;;;10;12345678;;", "'12345678' is no whole number."),
    ("2025-05-14;25:00;11:00;;1;;", "'25:00' is no time of a clock."),
    ("2025-05-14;10.05;11:00;;1;;", "'10.05' is no time like 10:05 or 2025-05-14T10:05."),
    ("2025-05-14;2025-05-14;11:00;;1;;", "'2025-05-14' is no time like"),
    ("2025-05-14;0001-01-01T00:00+14:00;11:00;;1;;", "check the year."),
    ("2025-05-14;;;10;1;;" + "x" * 2001, "the text is longer than 2000 characters."),
    ("2025-05-14;;;10;1;;a\x00b", "the text holds control characters."),
]


@pytest.mark.parametrize(("row", "detail"), CELLS)
def test_a_cell_that_cannot_be_read_is_refused_with_how_to_write_it(row: str, detail: str) -> None:
    parsed = read(row)
    assert parsed.lines == ()
    assert refused(parsed) == [(2, "unreadable")]
    assert parsed.rejected[0].detail.startswith("Column ")
    assert detail in parsed.rejected[0].detail


def test_every_bad_cell_of_every_row_is_told() -> None:
    parsed = read("x;;;y;z;;", "2025-05-14;;;10;1;;fine", "2025-05-14;;;10;1;-2;")
    assert refused(parsed) == [(2, "unreadable")] * 3 + [(4, "unreadable")]
    assert [line.place for line in parsed.lines] == [3]


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("2025-05-15T00:20", datetime(2025, 5, 14, 22, 20, tzinfo=UTC)),
        ("2025-05-14T22:20Z", datetime(2025, 5, 14, 22, 20, tzinfo=UTC)),
        ("2025-05-15 00:20:00+02:00", datetime(2025, 5, 14, 22, 20, tzinfo=UTC)),
    ],
)
def test_a_time_may_bring_its_date(cell: str, expected: datetime) -> None:
    assert only(read(f"2025-05-14;23:50;{cell};;1;;")).landing_at == expected


@pytest.mark.parametrize(
    ("day", "time", "readable"),
    [
        ("2025-10-26", "02:30", False),  # twice
        ("2025-03-30", "02:30", False),  # not at all
        ("2025-10-26", "03:00", True),
        ("2025-03-30", "01:59", True),
    ],
)
def test_times_at_which_clocks_are_changed_are_not_guessed(day: str, time: str, readable: bool) -> None:
    parsed = read(f"{day};{time};{day}T12:00;;1;;")
    assert bool(parsed.lines) is readable
    if not readable:
        assert "with its offset" in parsed.rejected[0].detail


@pytest.mark.parametrize(
    ("head", "code"),
    [
        ("date;minutes;colour", "unknown_column"),
        ("date;minutes;minutes", "repeated_column"),
        ("minutes;winch", "no_date_column"),
        ("", "no_date_column"),
        ("date;;minutes", "unknown_column"),
    ],
)
def test_the_first_row_names_the_columns(head: str, code: str) -> None:
    assert refused(read("2025-05-14;10;1", head=head)) == [(1, code)]


def test_blank_columns_at_the_end_are_a_habit_of_spreadsheets() -> None:
    assert only(read("2025-05-14;10;1;;", head="date;minutes;winch;;")).airframe_minutes == 10
    assert refused(read("2025-05-14;10;1;;7", head="date;minutes;winch;;")) == [(2, "surplus_cells")]


def test_a_row_of_another_aircraft_is_refused() -> None:
    parsed = read("2025-05-14;10;1;ZZ-K02", "2025-05-14;10;1;ZZ K01", head="date;minutes;winch;registration")
    assert refused(parsed) == [(2, "other_aircraft")]
    assert len(parsed.lines) == 1


def test_a_table_that_is_none() -> None:
    assert refused(csv_table.read(b"date;minutes\n2025-05-14;\xff\n", registration="", time_zone="UTC")) == [
        (2, "encoding")
    ]
    assert refused(read('2025-05-14;;;10;1;;"never closed')) == [(2, "not_csv")]
    assert refused(read()) == [(1, "no_rows")]
    assert refused(csv_table.read(b"", registration="", time_zone="UTC")) == [(1, "no_date_column")]


def test_a_table_that_is_too_long() -> None:
    rows = ["2025-05-14;;;10;1;;"] * (csv_table.MOST_ROWS + 1)
    parsed = read(*rows)
    assert refused(parsed) == [(csv_table.MOST_ROWS + 2, "too_many_rows")]


def test_a_flight_through_the_change_of_clocks_lasts_as_long_as_it_lasted() -> None:
    line = settled(only(read("2025-03-29;23:30;2025-03-30T04:00;;1;;")), "Europe/Vienna")
    assert line.airframe_minutes == 210  # one hour of that night does not exist (Directive 2000/84/EC)
    assert line.flown_on == date(2025, 3, 29)


FORMULAS = st.sampled_from(["=", "+", "-", "@", "\t", "\r"])


@given(FORMULAS, st.text(max_size=60), st.integers(0, 6))
def test_no_sentence_about_a_row_begins_like_a_formula(sign: str, text: str, column: int) -> None:
    """Whoever puts what was refused into a spreadsheet runs nothing: the file's own words are quoted in the middle."""
    cells: list[Any] = ["2025-05-14", "", "", "10", "1", "", ""]
    cells[column] = '"' + (sign + text).replace('"', '""') + '"'
    data = f"{HEAD}\n{';'.join(cells)}".encode("utf-8", "replace")
    for note in csv_table.read(data, registration="ZZ-K01", time_zone="UTC").rejected:
        assert note.detail[0].isalpha()
        assert "\n" not in note.detail


@given(st.binary(max_size=400))
def test_whatever_is_sent_is_read_or_refused(data: bytes) -> None:
    parsed = csv_table.read(data, registration="ZZ-K01", time_zone="Europe/Vienna")
    assert parsed.lines or parsed.rejected


@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=12), min_size=1, max_size=9))
def test_whatever_stands_in_a_row_is_read_or_refused(cells: list[str]) -> None:
    data = (HEAD + "\n" + ";".join(cells)).encode()
    csv_table.read(data, registration="ZZ-K01", time_zone="Europe/Vienna")
