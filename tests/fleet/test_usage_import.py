"""Importing files: a dry run writes nothing, the real one all or nothing, and the same file twice changes nothing."""

import hashlib
from datetime import date
from typing import Any

import pytest

from fleet.errors import Forbidden, Invalid, NotFound
from fleet.models import Aircraft, Event, Membership, Role, UsageEntry, UsageTotal
from fleet.services import usage
from fleet.services.usage.files import FileRefused, Imported, import_file
from fleet.services.usage.files.imports import guessed
from tests.factories import NOW, ClubFactory, MemberFactory, member_of
from tests.factories.usage import opened
from tests.fleet.igc_files import DAY, hop, igc_file, lines_of
from tests.scenes import an_aircraft
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

TABLE = b"date;takeoff;landing;minutes;winch\n2025-05-10;;;95;6\n2025-05-11;10:00;10:30;;1\n"
FLIGHTS = igc_file(hop("06:00", "06:30"), hop("07:00", "07:07:20"))  # of the day on which it is 09:00 UTC


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    made = an_aircraft()
    opened(made)
    return made


@pytest.fixture
def pilot(aircraft: Aircraft) -> Membership:
    return member_of(aircraft.club, Role.PILOT)


def imported(aircraft: Aircraft, data: bytes = TABLE, **more: Any) -> Imported:
    by = more.pop("by", None) or member_of(aircraft.club, Role.PILOT)
    return import_file(aircraft_id=aircraft.id, by=by, at=NOW, data=data, **more)


def minutes(aircraft: Aircraft) -> int:
    return UsageTotal.objects.get(aircraft=aircraft).airframe_minutes


def test_a_dry_run_tells_what_would_happen_and_writes_nothing(aircraft: Aircraft, pilot: Membership) -> None:
    with unchanged():
        told = imported(aircraft, dry_run=True)
    assert (told.dry_run, told.entries, told.rejected, told.duplicates) == (True, (), (), ())
    assert [(line.place, line.flown_on, line.airframe_minutes, line.landings) for line in told.lines] == [
        (2, date(2025, 5, 10), 95, 6),
        (3, date(2025, 5, 11), 30, 1),
    ]
    assert told.totals_before is not None and told.totals_after is not None
    assert (told.totals_before["airframe_minutes"], told.totals_after["airframe_minutes"]) == (60_000, 60_125)
    assert (told.totals_before["launches"], told.totals_after["launches"]) == (2_000, 2_007)


def test_the_real_run_does_what_the_dry_run_told(aircraft: Aircraft) -> None:
    told, done = imported(aircraft, dry_run=True), imported(aircraft)
    assert (done.lines, done.totals_after, done.verdict.status) == (told.lines, told.totals_after, told.verdict.status)
    assert [(entry.source, entry.airframe_minutes) for entry in done.entries] == [("csv", 95), ("csv", 30)]
    assert minutes(aircraft) == 60_125
    assert Event.objects.filter(kind="usage_record").latest("recorded_at").subject_type == "aircraft"


@pytest.mark.parametrize(("data", "more"), [(TABLE, {}), (FLIGHTS, {"launch_kind": "aerotow"})])
def test_the_same_file_twice_changes_nothing(
    aircraft: Aircraft, pilot: Membership, data: bytes, more: dict[str, Any]
) -> None:
    first = imported(aircraft, data, **more)
    with unchanged():
        again = imported(aircraft, data, **more)
    assert (len(again.duplicates), again.lines, again.entries) == (len(first.lines), (), ())
    assert again.totals_before == again.totals_after == first.totals_after


def test_a_line_that_was_taken_back_may_come_again(aircraft: Aircraft) -> None:
    done = imported(aircraft)
    by = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    usage.correct(entry_id=done.entries[0].id, by=by, at=NOW, remark="Other aircraft.")
    again = imported(aircraft)
    assert ([line.place for line in again.lines], len(again.duplicates)) == ([2], 1)


BAD = TABLE + b"2025-05-12;;;x;1\n2025-05-11;10:20;10:40;;1\n2024-12-31;;;10;1\n2025-05-13;;;10;1\n"


def test_bad_rows_are_all_told_and_nothing_is_written(aircraft: Aircraft, pilot: Membership) -> None:
    with unchanged():
        told = imported(aircraft, BAD, dry_run=True)
    assert [(note.line, note.code) for note in told.rejected] == [
        (4, "unreadable"),
        (5, "overlap"),
        (6, "before_opening"),
    ]
    assert [line.place for line in told.lines] == [2, 3, 7]
    assert told.totals_after is not None and told.totals_after["airframe_minutes"] == 60_135
    with unchanged(), pytest.raises(FileRefused) as refusal:
        imported(aircraft, BAD)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [
        ("/file/4", "unreadable"),
        ("/file/5", "overlap"),
        ("/file/6", "before_opening"),
    ]
    assert refusal.value.errors[0].detail.startswith("Line 4: ")


def test_a_row_without_times_that_looks_recorded_is_pointed_out(aircraft: Aircraft) -> None:
    imported(aircraft)
    other = TABLE.replace(b"10:00;10:30", b"11:00;11:30")  # another file that holds the first row too
    told = imported(aircraft, other, dry_run=True)
    assert [(note.line, note.code) for note in told.warnings] == [(2, "looks_recorded"), (3, "looks_recorded")]
    assert told.duplicates == ()


def test_without_an_opening_balance_no_totals_are_known(db: None) -> None:
    made = an_aircraft()
    done = imported(made)
    assert (done.totals_before, done.totals_after, len(done.entries)) == (None, None, 2)


def test_flights_of_a_recorder(aircraft: Aircraft) -> None:
    done = imported(aircraft, FLIGHTS, launch_kind="self")
    assert [(one.source, one.airframe_minutes, one.self_launches, one.landings) for one in done.entries] == [
        ("flight_recorder", 30, 1, 1),
        ("flight_recorder", 7, 1, 1),
    ]
    assert [note.code for note in done.warnings] == ["other_glider"]  # the aircraft is not ZZ-K01
    assert minutes(aircraft) == 60_037


def test_a_flight_that_another_recorder_brought_already_overlaps(aircraft: Aircraft) -> None:
    imported(aircraft, FLIGHTS, launch_kind="winch")
    second = igc_file(hop("06:00", "06:30"), glider="ZZ-K99")
    with unchanged(besides=("fleet_membership",)), pytest.raises(FileRefused) as refusal:
        imported(aircraft, second, launch_kind="winch")
    assert [one.code for one in refusal.value.errors] == ["overlap"]


def test_flights_over_midnight_utc_count_on_the_clubs_day_of_take_off(aircraft: Aircraft) -> None:
    night = hop("21:50", "00:20", day=DAY.replace(day=11))  # 23:50 in the club's zone
    (entry,) = imported(aircraft, igc_file(night), launch_kind="winch").entries
    assert (entry.flown_on, entry.airframe_minutes) == (date(2025, 5, 11), 150)


def test_a_cut_file_is_refused_with_its_line(aircraft: Aircraft, pilot: Membership) -> None:
    text = "\r\n".join(lines_of([hop("06:00", "06:30")])[:90])
    with unchanged(), pytest.raises(FileRefused) as refusal:
        imported(aircraft, text[:-12].encode("latin-1"), launch_kind="winch")
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [("/file/90", "broken_fix")]


@pytest.mark.parametrize(
    ("data", "more", "pointer"),
    [(FLIGHTS, {}, "/launch_kind"), (TABLE, {"launch_kind": "winch"}, "/launch_kind")],
)
def test_a_recorder_does_not_know_the_launch_and_a_table_does(
    aircraft: Aircraft, pilot: Membership, data: bytes, more: dict[str, Any], pointer: str
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        imported(aircraft, data, **more)
    assert [one.pointer for one in refusal.value.errors] == [pointer]


@pytest.mark.parametrize(
    ("name", "data", "expected"),
    [
        ("flight.IGC", TABLE, "igc"),
        ("usage.csv", FLIGHTS, "csv"),
        ("usage", FLIGHTS, "igc"),
        ("usage", TABLE, "csv"),
        ("", b"aerotow;date\nABC", "csv"),
        ("", b"", "csv"),
    ],
)
def test_the_format_is_guessed(name: str, data: bytes, expected: str) -> None:
    assert guessed(name, data) == expected


@pytest.mark.parametrize("role", [Role.AUDITOR, Role.ADMINISTRATOR])
def test_who_does_not_record_does_not_import(aircraft: Aircraft, role: Role) -> None:
    member = MemberFactory.create(club=aircraft.club, roles=[role])
    with unchanged(), pytest.raises(Forbidden):
        imported(aircraft, by=member)


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    stranger = MemberFactory.create(club=ClubFactory.create())
    with unchanged(), pytest.raises(NotFound):
        imported(aircraft, by=stranger)


def test_a_reference_names_content_and_line(aircraft: Aircraft) -> None:
    imported(aircraft)
    digest = hashlib.sha256(TABLE).hexdigest()
    references = UsageEntry.objects.filter(source="csv").order_by("flown_on").values_list("reference", flat=True)
    assert list(references) == [f"{digest}:2", f"{digest}:3"]
