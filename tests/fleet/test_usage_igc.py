"""Flight-recorder files, made from known flights.

Edge cases after the Technical Specification for IGC-Approved GNSS Flight Recorders, Appendix A (FAI): A record first,
date in HFDTE, B records of 35 characters and the extensions of the I record, validity A or V, times in UTC.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.services.usage.files import igc_flights, igc_records
from fleet.services.usage.files.parsed import Broken, LaunchKind, Parsed
from tests.fleet.igc_files import DAY, Hop, b_record, clock, file_of, fixes_of, header, hop, igc_file, lines_of

MORNING = hop("09:30", "09:36")
LONG = hop("10:00", "12:10", 1500)
SECOND = timedelta(seconds=1)


def read(data: bytes, registration: str = "ZZ-K01") -> Parsed:
    return igc_flights.read(data, registration=registration, launch_kind=LaunchKind.WINCH)


def times(parsed: Parsed) -> list[tuple[datetime | None, datetime | None]]:
    assert parsed.rejected == ()
    return [(line.takeoff_at, line.landing_at) for line in parsed.lines]


def assert_flown(parsed: Parsed, *hops: Hop, within: int = 4) -> None:
    found = times(parsed)
    assert len(found) == len(hops)
    for (takeoff, landing), known in zip(found, hops, strict=True):
        assert takeoff is not None and landing is not None
        assert abs(takeoff - known.takeoff) <= within * SECOND
        assert abs(landing - known.landing) <= within * SECOND


def assert_broken(data: bytes, line: int, code: str) -> None:
    parsed = read(data)
    assert parsed.lines == ()
    assert [(note.line, note.code) for note in parsed.rejected] == [(line, code)]
    assert parsed.rejected[0].detail.endswith(".")


def test_several_flights_in_one_file() -> None:
    parsed = read(igc_file(MORNING, LONG))
    assert_flown(parsed, MORNING, LONG)
    assert [(line.launches, line.winch_launches, line.landings) for line in parsed.lines] == [(1, 1, 1), (1, 1, 1)]
    assert parsed.warnings == ()


def test_a_line_says_where_its_take_off_stands() -> None:
    data = igc_file(MORNING)
    (line,) = read(data).lines
    assert line.place is not None
    assert data.decode("latin-1").splitlines()[line.place - 1].startswith("B093000")


@pytest.mark.parametrize("date", ["HFDTE140525", "HFDTEDATE:140525", "HFDTEDATE:140525,02", "HFDTE DATE:140525,02"])
def test_both_forms_of_the_date(date: str) -> None:
    assert_flown(read(igc_file(MORNING, date=date)), MORNING)


@pytest.mark.parametrize("ending", ["\r\n", "\n", "\r"])
def test_line_endings_of_any_machine(ending: str) -> None:
    text = ending.join(lines_of([MORNING]))
    assert_flown(read(text.encode("latin-1")), MORNING)


def test_over_midnight_utc() -> None:
    night = hop("23:40", "00:25")
    assert_flown(read(igc_file(night)), night)


def test_a_second_flight_on_the_day_after() -> None:
    first, second = hop("23:30", "23:50"), hop("00:10", "00:30", day=DAY + timedelta(days=1))
    assert_flown(read(igc_file(first, second)), first, second)


@pytest.mark.parametrize("shift", [-3, 0, 3])
def test_some_recorders_write_the_new_date_around_midnight(shift: int) -> None:
    night = hop("23:40", "00:25")
    lines = lines_of([night])
    midnight = next(n for n, line in enumerate(lines) if line.startswith("B00000"))
    lines.insert(midnight + shift, "HFDTE150525")
    assert_flown(read(file_of(lines)), night)


def without_fix(line: str) -> str:
    """As a recorder writes it that has lost the satellites."""
    return f"{line[:7]}0000000N00000000EV0000000000{line[35:]}" if line.startswith("B") else line


def test_invalid_fixes_say_nothing() -> None:
    lines = lines_of([LONG])
    blind = [without_fix(line) if n % 3 or 20 < n < 60 else line for n, line in enumerate(lines)]
    assert_flown(read(file_of(blind)), LONG, within=12)


def test_the_time_of_an_invalid_fix_may_be_anything() -> None:
    lines = lines_of([MORNING])
    lines.insert(6, "B2359590000000N00000000EV0000000000000")
    assert_flown(read(file_of(lines)), MORNING)


def test_satellites_found_only_in_flight() -> None:
    lines = [without_fix(line) if line[1:7] < "093200" else line for line in lines_of([MORNING])]
    first = next(n for n, line in enumerate(lines, start=1) if line.startswith("B") and line[24] == "A")
    assert_broken(file_of(lines), first, "airborne")


def test_without_a_pressure_altitude_that_of_the_satellites_counts() -> None:
    fixes = fixes_of([MORNING], begins=clock("09:20"), ends=clock("09:45"))
    lines = [*header(), *(b_record(fix, pressure=False, extension="035") for fix in fixes), "G00"]
    assert_flown(read(file_of(lines)), MORNING)


def test_altitudes_below_the_sea_are_written_with_a_minus() -> None:
    lines = [
        f"{line[:25]}-{int(line[25:30]) % 600:04}{line[30:]}"
        if line.startswith("B") and line[25:30] == "00600"
        else line
        for line in lines_of([MORNING])
    ]
    assert any("A-0000" in line for line in lines)
    assert_flown(read(file_of(lines)), MORNING)


def test_two_fixes_a_second() -> None:
    doubled = [line for line in lines_of([MORNING], interval=1) for _ in range(2 if line.startswith("B") else 1)]
    assert_flown(read(file_of(doubled)), MORNING)


def test_records_that_say_nothing_about_flights_are_passed_over() -> None:
    lines = lines_of([MORNING])
    extra = ["LXXXcomment", "E093100PEV", "F093100010203", "K093100x", "HFXYZunknown:1", "ZZfuture", "C", "D9", ""]
    lines[8:8] = extra
    assert_flown(read(file_of(lines)), MORNING)


def test_the_glider_of_the_file_is_compared_and_not_its_spelling() -> None:
    assert read(igc_file(MORNING, glider="zz k01")).warnings == ()
    other = read(igc_file(MORNING, glider="ZZ-K02"))
    assert [(note.line, note.code) for note in other.warnings] == [(4, "other_glider")]
    assert "'ZZ-K02'" in other.warnings[0].detail
    nameless = read(igc_file(MORNING, glider=""))
    assert [note.code for note in nameless.warnings] == ["glider_unknown"]


def test_a_file_without_its_security_record_may_have_been_cut_off() -> None:
    lines = lines_of([MORNING])[:-1]
    assert [(note.line, note.code) for note in read(file_of(lines)).warnings] == [(len(lines), "not_signed")]


def cut(lines: list[str], at: int) -> bytes:
    """The file ends in the middle of a line."""
    return file_of(lines[: at - 1]) + lines[at - 1][:20].encode()


def changed(lines: list[str], at: int, change: Callable[[str], str]) -> bytes:
    return file_of([change(line) if n == at else line for n, line in enumerate(lines, start=1)])


def test_a_file_cut_off_in_a_line_is_refused_with_that_line() -> None:
    assert_broken(cut(lines_of([MORNING]), 100), 100, "broken_fix")


def test_a_file_cut_off_between_lines_in_flight_is_refused_with_the_last() -> None:
    assert_broken(file_of(lines_of([MORNING])[:100]), 100, "airborne")


@pytest.mark.parametrize(
    "change",
    [
        lambda line: line[:34],
        lambda line: line[:36],  # without the extension of the I record
        lambda line: line.replace("N", "X"),
        lambda line: line.replace("E", "W ", 1),
        lambda line: f"{line[:24]}B{line[25:]}",
        lambda line: f"{line[:3]}x{line[4:]}",
        lambda line: f"{line[:7]}9999999N{line[15:]}",
        lambda line: f"B256161{line[7:]}",
        lambda line: line.replace("A0", "A_", 1),
    ],
)
def test_a_broken_fix_is_refused_with_its_line(change: Callable[[str], str]) -> None:
    with pytest.raises(Broken) as refusal:
        igc_records.read(changed(lines_of([MORNING]), 77, change))
    assert refusal.value.note.line == 77


@pytest.mark.parametrize(
    ("line", "change", "code"),
    [
        (1, lambda line: line[1:], "not_igc"),
        (1, lambda _line: "date;minutes", "not_igc"),
        (2, lambda _line: "HFDTE000000", "no_date"),
        (2, lambda _line: "HFDTE310225", "unreadable"),
        (2, lambda _line: "HFDTEDATE140525", "unreadable"),
        (2, lambda _line: "LXXXno date", "no_date"),
        (50, lambda _line: "HFDTE170525", "date"),
        (50, lambda _line: "HFDTE130525", "date"),
        (50, lambda _line: "HFDTE150525", "date"),
        (50, lambda _line: "\x00\x01\x02", "unreadable"),
        (50, lambda _line: "<html>", "unreadable"),
        (50, lambda line: f"B{92000:06}{line[7:]}", "time"),
    ],
)
def test_what_cannot_be_believed_is_refused(line: int, change: Callable[[str], str], code: str) -> None:
    parsed = read(changed(lines_of([MORNING]), line, change))
    assert [note.code for note in parsed.rejected] == [code]
    assert line <= parsed.rejected[0].line <= max(line + 1, 6)


@pytest.mark.parametrize("data", [b"", b"\r\n\r\n", file_of([*header(), "G00"])])
def test_a_file_without_a_flight_is_refused(data: bytes) -> None:
    assert [note.code for note in read(data).rejected] == ["no_flight"]


def test_the_date_of_a_two_digit_year() -> None:
    hop_of_1999 = hop("09:30", "09:36", day=datetime(1999, 12, 31, tzinfo=UTC))
    assert_flown(read(igc_file(hop_of_1999)), hop_of_1999)


WHOLE = igc_file(hop("09:30", "09:34"))


@settings(deadline=None, max_examples=150)
@given(st.integers(0, len(WHOLE) - 1), st.binary(max_size=8), st.integers(0, 400))
def test_a_file_that_was_changed_anywhere_is_read_or_refused_with_a_line(place: int, other: bytes, gone: int) -> None:
    data = WHOLE[:place] + other + WHOLE[place + gone :]
    parsed = read(data)
    assert bool(parsed.lines) != bool(parsed.rejected)
    assert all(1 <= note.line <= data.count(b"\n") + data.count(b"\r") + 1 for note in parsed.rejected)


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_whatever_is_sent_is_refused(data: bytes) -> None:
    assert read(data).rejected
