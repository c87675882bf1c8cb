"""Recording usage: who may, what cannot be right, what it adds up to."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import events
from fleet.errors import Forbidden, Invalid, NotFound
from fleet.models import Aircraft, Event, Role, UsageEntry, UsageTotal
from fleet.services import usage
from fleet.services.usage import Line, LinesRefused
from tests.factories import NOW, ClubFactory, MemberFactory, fresh, make_aircraft, member_of
from tests.factories.usage import OPENED_ON, flown, opened
from tests.scenes import scene
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

TODAY = NOW.date()  # the club's zone is UTC+2 then
MINUTE = timedelta(minutes=1)
Codes = list[tuple[int, str, str]]


@pytest.fixture
def aircraft() -> Aircraft:
    def build() -> None:
        made = make_aircraft(ClubFactory.create())
        opened(made)
        for role in (Role.PILOT, Role.TECHNICAL_OFFICER):
            member_of(made.club, role)

    scene("an aircraft with an opening balance", build)
    return fresh(Aircraft.objects.get())


def at(text: str, day: date = TODAY) -> datetime:
    return datetime.fromisoformat(f"{day.isoformat()}T{text}:00Z")


def flight(takeoff: str, landing: str, day: date = TODAY, **more: Any) -> Line:
    times: dict[str, Any] = {"takeoff_at": at(takeoff, day), "landing_at": at(landing, day), "winch_launches": 1}
    return Line(**times | more)


def day(minutes: int | None = 60, **more: Any) -> Line:
    amounts: dict[str, Any] = {"flown_on": TODAY, "airframe_minutes": minutes, "winch_launches": 3}
    return Line(**amounts | more)


def codes(aircraft: Aircraft, lines: Sequence[Line], source: str = "manual") -> Codes:
    """What is refused about the lines; nothing is written."""
    by = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    with unchanged(), pytest.raises(LinesRefused) as refusal:
        usage.record(aircraft_id=aircraft.id, by=by, at=NOW, lines=lines, source=source)
    assert len(refusal.value.errors) == len(refusal.value.problems)
    return [(one.index, one.field, one.code) for one in refusal.value.problems]


def total(aircraft: Aircraft) -> dict[str, int]:
    return UsageTotal.objects.get(aircraft=aircraft).amounts()


def test_a_flight_counts_in_every_dimension(aircraft: Aircraft) -> None:
    line = flight("08:00", "08:47", engine_minutes=7, engine_starts=2, cycles=4, remark="Check flight")
    recorded = flown(aircraft, line)
    (entry,) = recorded.entries
    assert (entry.flown_on, entry.airframe_minutes, entry.landings, entry.source) == (TODAY, 47, 1, "manual")
    assert entry.recorded_at == NOW
    expected = {
        "airframe_minutes": 60_047, "launches": 2_001, "landings": 2_001, "engine_minutes": 7, "engine_starts": 2, "cycles": 4,
    }  # fmt: skip
    assert total(aircraft) == expected
    assert recorded.total is not None and recorded.total.amounts() == expected


def test_five_flights_come_to_their_minutes(aircraft: Aircraft) -> None:
    # Check value life.sum_minutes (derived): 0:20, 0:20, 0:20, 1:47, 0:08 are 2:55 h.
    spans = [("05:00", "05:20"), ("05:30", "05:50"), ("06:00", "06:20"), ("06:30", "08:17"), ("08:20", "08:28")]
    flown(aircraft, *(flight(*span) for span in spans))
    assert total(aircraft)["airframe_minutes"] == 60_000 + 175


def test_three_hundred_flights_of_twenty_minutes(aircraft: Aircraft) -> None:
    # Check value life.tenths_drift (derived): 100 h; kept in tenths ten hours would be lost.
    begin = NOW - timedelta(days=30)
    takeoffs = [begin + timedelta(minutes=30 * n) for n in range(300)]
    lines = [Line(takeoff_at=one, landing_at=one + 20 * MINUTE, winch_launches=1) for one in takeoffs]
    flown(aircraft, *lines)
    assert total(aircraft)["airframe_minutes"] == 60_000 + 100 * 60


def test_a_flight_over_midnight_counts_on_the_day_of_its_take_off(aircraft: Aircraft) -> None:
    takeoff = datetime(2025, 5, 13, 21, 50, tzinfo=UTC)  # 23:50 in the club's zone
    (entry,) = flown(aircraft, Line(takeoff_at=takeoff, landing_at=takeoff + 40 * MINUTE, aerotow_launches=1)).entries
    assert entry.flown_on == date(2025, 5, 13)
    late = datetime(2025, 5, 13, 22, 30, tzinfo=UTC)
    (entry,) = flown(aircraft, Line(takeoff_at=late, landing_at=late + MINUTE, other_launches=1)).entries
    assert entry.flown_on == TODAY


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("source", ["manual", "opening"])
def test_who_records(role: Role, source: str) -> None:
    made = make_aircraft(ClubFactory.create())
    member = MemberFactory.create(club=made.club, roles=[role])
    may = {Role.TECHNICAL_OFFICER} if source == "opening" else {Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR}
    if role in may:
        done = usage.record(aircraft_id=made.id, by=member, at=NOW, lines=[day()], source=source)
        assert done.entries[0].recorded_by == member
        return
    with unchanged(), pytest.raises(Forbidden):
        usage.record(aircraft_id=made.id, by=member, at=NOW, lines=[day()], source=source)


def test_for_another_club_the_aircraft_is_not_there(aircraft: Aircraft) -> None:
    stranger = MemberFactory.create(club=ClubFactory.create())
    with unchanged(), pytest.raises(NotFound):
        flown(aircraft, by=stranger)


def test_no_lines_are_no_usage(aircraft: Aircraft) -> None:
    pilot = member_of(aircraft.club, Role.PILOT)
    with unchanged(), pytest.raises(Invalid):
        usage.record(aircraft_id=aircraft.id, by=pilot, at=NOW, lines=[], source="manual")


YESTERDAY = TODAY - timedelta(days=1)
ALONE: list[tuple[Line, list[tuple[str, str]]]] = [
    (day(-1), [("airframe_minutes", "negative")]),
    (day(winch_launches=-1, aerotow_launches=2), [("winch_launches", "negative")]),
    (day(landings=-1, engine_minutes=-2), [("landings", "negative"), ("engine_minutes", "negative")]),
    (day(cycles=-1, engine_starts=-1), [("engine_starts", "negative"), ("cycles", "negative")]),
    (day(None), [("airframe_minutes", "required")]),
    (day(0, winch_launches=0), [("airframe_minutes", "empty")]),
    (day(1441), [("airframe_minutes", "too_large")]),
    (day(engine_minutes=1441), [("engine_minutes", "too_large")]),
    (day(winch_launches=1441, landings=0), [("winch_launches", "too_large")]),
    (day(winch_launches=0), [("winch_launches", "launch_missing")]),
    (day(flown_on=None), [("flown_on", "required")]),
    (day(flown_on=TODAY + timedelta(days=1)), [("flown_on", "in_future")]),
    (day(flown_on=date(1899, 12, 31)), [("flown_on", "too_early"), ("flown_on", "before_opening")]),
    (day(flown_on=OPENED_ON - timedelta(days=1)), [("flown_on", "before_opening")]),
    (flight("08:00", "07:59", airframe_minutes=5), [("landing_at", "out_of_order")]),
    (flight("08:00", "08:00", airframe_minutes=5), [("landing_at", "out_of_order")]),
    (flight("08:00", "08:30", landing_at=None, airframe_minutes=5), [("landing_at", "pair")]),
    (flight("08:00", "08:30", takeoff_at=None, flown_on=TODAY, airframe_minutes=5), [("takeoff_at", "pair")]),
    (flight("08:30", "09:06"), [("landing_at", "in_future")]),  # it is 09:00
    (flight("08:00", "08:30", flown_on=YESTERDAY), [("flown_on", "other_day")]),
    (flight("08:00", "08:30", airframe_minutes=29), [("airframe_minutes", "too_short")]),
    (flight("08:00", "08:30", airframe_minutes=31), [("airframe_minutes", "too_long")]),
    (flight("08:00", "08:30", winch_launches=0), [("winch_launches", "launch_missing")]),
    (
        flight("08:00", "07:00", flown_on=TODAY + timedelta(days=2), cycles=-1, airframe_minutes=9),
        [("cycles", "negative"), ("landing_at", "out_of_order"), ("flown_on", "in_future")],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("line", "expected"), ALONE)
def test_what_cannot_be_right_is_refused_with_all_its_reasons(
    aircraft: Aircraft, line: Line, expected: list[tuple[str, str]]
) -> None:
    assert codes(aircraft, [line]) == [(0, *one) for one in expected]


@pytest.mark.parametrize(
    ("seconds", "minutes"), [(1829, 30), (1829, 31), (1830, 31), (1800, 30), (29, 0), (29, 1), (30, 1)]
)
def test_minutes_rounded_by_the_rule_or_up_are_believed(aircraft: Aircraft, seconds: int, minutes: int) -> None:
    takeoff = at("08:00")
    line = Line(
        takeoff_at=takeoff, landing_at=takeoff + timedelta(seconds=seconds), airframe_minutes=minutes, self_launches=1
    )
    assert flown(aircraft, line).entries[0].airframe_minutes == minutes


def test_every_bad_line_is_named_and_the_good_ones_are_not_written_either(aircraft: Aircraft) -> None:
    lines = [day(10), day(-1), flight("06:00", "06:10"), day(0, winch_launches=0), flight("06:05", "06:15")]
    assert codes(aircraft, lines) == [
        (1, "airframe_minutes", "negative"),
        (3, "airframe_minutes", "empty"),
        (4, "takeoff_at", "overlap"),
    ]


@pytest.mark.parametrize(
    ("second", "free"),
    [
        (("07:00", "07:30"), True),
        (("06:00", "06:30"), True),
        (("06:59", "07:29"), False),
        (("06:01", "06:31"), False),
        (("06:29", "07:01"), False),
        (("06:35", "06:45"), False),
        (("06:30", "07:00"), False),
    ],
)
@pytest.mark.parametrize("together", [True, False])
def test_no_two_flights_at_a_time(aircraft: Aircraft, second: tuple[str, str], free: bool, together: bool) -> None:
    lines = [flight("06:30", "07:00"), flight(*second)]
    if not together:
        flown(aircraft, lines.pop(0))
    if free:
        assert flown(aircraft, *lines).entries
    else:
        assert codes(aircraft, lines) == [(len(lines) - 1, "takeoff_at", "overlap")]


def test_a_long_flight_overlaps_with_all_those_inside_it(aircraft: Aircraft) -> None:
    lines = [flight("04:00", "08:00"), flight("04:10", "04:20"), flight("05:00", "05:10"), flight("08:00", "08:10")]
    assert [(index, code) for index, _, code in codes(aircraft, lines)] == [(1, "overlap"), (2, "overlap")]


def test_a_flight_of_the_night_before_overlaps_too(aircraft: Aircraft) -> None:
    takeoff = at("21:00", YESTERDAY)  # 23:00 in the club's zone
    flown(aircraft, Line(takeoff_at=takeoff, landing_at=takeoff + timedelta(hours=3), aerotow_launches=1))
    assert codes(aircraft, [flight("23:55", "23:59", day=YESTERDAY)]) == [
        (0, "takeoff_at", "overlap")
    ]  # 01:55 of today


def test_a_day_has_24_hours(aircraft: Aircraft) -> None:
    flown(aircraft, day(1000, flown_on=YESTERDAY))
    lines = [day(440, flown_on=YESTERDAY), day(1, flown_on=YESTERDAY), day(1440)]
    assert codes(aircraft, lines) == [(1, "airframe_minutes", "more_than_a_day")]
    flown(aircraft, lines[0], lines[2])


def test_engines_run_24_hours_a_day_at_most(aircraft: Aircraft) -> None:
    lines = [day(10, engine_minutes=800), day(10, engine_minutes=641)]
    assert codes(aircraft, lines) == [(1, "engine_minutes", "more_than_a_day")]


def test_nothing_is_known_before_the_opening_balance() -> None:
    made = make_aircraft(ClubFactory.create())
    recorded = flown(made, minutes := day(45))
    assert recorded.total is None
    assert not UsageTotal.objects.exists()
    assert opened(made, minutes=1_000, launches=50, at=NOW).total is not None
    assert total(made)["airframe_minutes"] == 1_000 + (minutes.airframe_minutes or 0)
    assert total(made)["launches"] == 53


def test_a_new_aircraft_opens_with_nothing() -> None:
    made = make_aircraft(ClubFactory.create())
    opened(made, minutes=0, launches=0)
    assert set(total(made).values()) == {0}


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ([day()], [(0, "source", "opening_exists")]),
        (
            [day(flown_on=YESTERDAY), day()],
            [(0, "source", "opening_exists"), (1, "source", "opening_exists"), (1, "source", "one_opening")],
        ),
    ],
)  # fmt: skip
def test_an_aircraft_has_one_opening_balance(aircraft: Aircraft, lines: list[Line], expected: Codes) -> None:
    assert codes(aircraft, lines, source="opening") == expected


def test_an_opening_balance_is_no_flight_and_comes_before_all_of_them() -> None:
    made = make_aircraft(ClubFactory.create())
    flown(made, day(flown_on=YESTERDAY))
    assert codes(made, [flight("05:00", "05:10")], source="opening") == [
        (0, "takeoff_at", "not_a_flight"),
        (0, "flown_on", "after_first_entry"),
    ]
    assert codes(made, [day(10_000_001, flown_on=YESTERDAY)], source="opening") == [
        (0, "airframe_minutes", "too_large")
    ]
    opened(made, on=YESTERDAY, at=NOW)


def test_up_to_when_usage_is_recorded(aircraft: Aircraft) -> None:
    def recorded_to() -> datetime:
        return UsageTotal.objects.get(aircraft=aircraft).recorded_to

    assert recorded_to() == datetime(2024, 12, 31, 23, tzinfo=UTC)  # when the opening balance's day began
    flown(aircraft, day(flown_on=YESTERDAY))
    assert recorded_to() == datetime(2025, 5, 13, 22, tzinfo=UTC)  # when that day was over in the club's zone
    flown(aircraft, flight("05:00", "05:30"))
    assert recorded_to() == at("05:30")
    flown(aircraft, day(flown_on=OPENED_ON))
    assert recorded_to() == at("05:30")
    flown(aircraft, day(10))
    assert recorded_to() == NOW  # the day is not over


def test_what_was_recorded_is_told(aircraft: Aircraft) -> None:
    (entry,) = flown(aircraft, flight("05:00", "05:30", remark="First solo")).entries
    event = Event.objects.get(kind="usage_record", subject_id=entry.id)
    assert (event.subject_type, event.by_id) == ("usage_entry", entry.recorded_by_id)
    assert '"airframe_minutes":30' in event.canonical and "First solo" in event.canonical
    flown(aircraft, day(10), day(20, cycles=3))
    event = Event.objects.get(kind="usage_record", subject_type="aircraft")
    assert '"airframe_minutes":30' in event.canonical and '"entries":2' in event.canonical
    assert events.verify(aircraft.club).valid


def test_the_database_keeps_entries_as_they_are(aircraft: Aircraft) -> None:
    (entry,) = flown(aircraft).entries
    with pytest.raises(Exception, match="Cannot update or delete"):
        UsageEntry.objects.filter(id=entry.id).update(airframe_minutes=1)


def test_many_lines_cost_no_more_queries_than_one(aircraft: Aircraft) -> None:
    pilot = member_of(aircraft.club, Role.PILOT)
    counts = []
    for lines in ([flight("05:00", "05:01")], [flight(f"06:{n:02}", f"06:{n + 1:02}") for n in range(50)]):
        with CaptureQueriesContext(connection) as captured:
            flown(aircraft, *lines, by=pilot)
        counts.append(len([one for one in captured if "SAVEPOINT" not in one["sql"]]))
    assert counts[0] == counts[1]
