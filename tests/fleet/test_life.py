"""Lives of components, counted from where they were. Names of parts and all figures are invented."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from fleet import life
from fleet.models import Aircraft, Component
from fleet.services import overhauls
from tests.factories import (
    NEW,
    fitter_of,
    installed,
    make_aircraft,
    make_component,
    make_kind,
    make_position,
    removed,
)
from tests.fleet.flying import day_flown, flown, opened, taken_back
from tests.fleet.hangar import Hangar, a_hangar, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


def meter(reading: Any) -> int:
    """Of the airframe."""
    minutes: int = reading["airframe_minutes"]
    return minutes


def minutes(component: Component, at: datetime | None = None) -> int | None:
    """Since new."""
    return life.totals_of([component], at)[component.id].get("airframe_minutes")


def since_overhaul(component: Component, at: datetime | None = None) -> int | None:
    return life.lives_of([component], at)[component.id].since_overhaul.get("airframe_minutes")


def overhauled(component: Component, *, on: date, at: datetime, **fields: Any) -> None:
    by = fitter_of(component.kind.club)
    overhauls.record(component_id=component.id, by=by, at=at, done_on=on, release_document="F1-77", **fields)


def test_a_life_is_carried_over_two_aircraft(hangar: Hangar) -> None:
    """TSN = TSN0 + sum(out - in) (computations 4; units ML.A.503, carrying: from memory, reproduced)."""
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 12_345, "launches": 310})
    flown(hangar.one, on(1), 600)  # before it came
    installed(engine, hangar.one, hangar.bay, at=on(2))
    for hour, length in enumerate((20, 20, 20, 107, 8)):  # 2:55 h in all (check value life.sum_minutes)
        flown(hangar.one, on(2, 9 + 2 * hour), length)
    first = removed(engine, at=on(3))
    flown(hangar.one, on(3, 12), 500)  # without it
    flown(hangar.other, on(3, 12), 400)  # before it came there
    second_in = installed(engine, hangar.other, hangar.bay, at=on(4))
    flown(hangar.other, on(4, 12), 61)
    second = removed(engine, at=on(5))
    assert (meter(first.meter_in), meter(first.meter_out)) == (60_600, 60_775)
    assert (meter(second_in.meter_in), meter(second.meter_out)) == (60_400, 60_461)
    assert minutes(engine) == 12_345 + 175 + 61
    assert life.totals_of([engine])[engine.id] == NEW | {
        "airframe_minutes": 12_581,
        "launches": 316,
        "landings": 6,
    }


def test_every_dimension_is_counted(hangar: Hangar) -> None:
    brought = {name: 1000 * (1 + place) for place, name in enumerate(NEW)}
    engine = hangar.engine(brought_forward=brought)
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 10), 30, launches=2, landings=3, engine_minutes=12, engine_starts=4, cycles=5)
    assert life.totals_of([engine])[engine.id] == {
        "airframe_minutes": 1030,
        "launches": 2002,
        "landings": 3003,
        "engine_minutes": 4012,
        "engine_starts": 5004,
        "cycles": 6005,
    }


def test_an_overhaul_restarts_time_since_overhaul_and_never_time_since_new(hangar: Hangar) -> None:
    """Computations 4: TSO restarts at overhaul, TSN never."""
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 5_000})
    assert since_overhaul(engine) is None
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 90)
    removed(engine, at=on(3))
    overhauled(engine, on=date(2025, 3, 4), at=on(4))
    assert (minutes(engine), since_overhaul(engine)) == (5_090, 0)
    installed(engine, hangar.other, hangar.bay, at=on(5))
    flown(hangar.other, on(5, 12), 33)
    assert (minutes(engine), since_overhaul(engine)) == (5_123, 33)
    flown(hangar.one, on(2, 18), 10, recorded_at=on(9))  # late, flown before the overhaul
    assert (minutes(engine), since_overhaul(engine)) == (5_133, 33)
    assert since_overhaul(engine, on(4, 7)) == 0 and since_overhaul(engine, on(3)) is None


def test_a_second_overhaul_restarts_again(hangar: Hangar) -> None:
    engine = hangar.engine()
    for day in (2, 6):
        installed(engine, hangar.one, hangar.bay, at=on(day))
        flown(hangar.one, on(day, 12), 50)
        removed(engine, at=on(day + 1))
        overhauled(engine, on=date(2025, 3, day + 2), at=on(day + 2))
    assert (minutes(engine), since_overhaul(engine)) == (100, 0)


def test_a_component_comes_with_what_it_has_run_since_its_last_overhaul(hangar: Hangar) -> None:
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 72_000})
    overhauled(engine, on=date(2020, 5, 5), at=on(1), brought_forward=NEW | {"airframe_minutes": 12_610})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 20)
    assert (minutes(engine), since_overhaul(engine)) == (72_020, 12_630)


def test_parts_live_on_inside_an_engine_that_moves(hangar: Hangar) -> None:
    engine, magneto, spare = hangar.engine(), hangar.magneto(brought_forward=NEW | {"launches": 40}), hangar.magneto()
    installed(magneto, engine, hangar.drive, at=on(1))  # on the bench
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 100)
    removed(engine, at=on(3))  # the magneto stays in it
    installed(engine, hangar.other, hangar.bay, at=on(4))
    flown(hangar.other, on(4, 12), 10)
    removed(magneto, at=on(5))
    installed(spare, engine, hangar.drive, at=on(5))
    flown(hangar.other, on(5, 12), 1)
    assert [minutes(one) for one in (engine, magneto, spare)] == [111, 110, 1]
    assert life.totals_of([magneto])[magneto.id]["launches"] == 42
    installed(magneto, hangar.engine(), hangar.drive, at=on(6))
    flown(hangar.other, on(6, 12), 1000)
    assert minutes(magneto) == 110


def test_parts_that_sat_in_each_other_at_different_times_have_a_life(hangar: Hangar) -> None:
    """A frame once in another, and later the other way round."""
    club = hangar.one.club
    frame = make_kind(club, designation="Frame")
    place, seat = make_position(frame, frame), make_position(hangar.one.aircraft_type, frame)
    outer, inner = make_component(frame), make_component(frame)
    for holder, held, day in ((outer, inner, 2), (inner, outer, 5)):
        installed(holder, hangar.one, seat, at=on(day))
        installed(held, holder, place, at=on(day))
        flown(hangar.one, on(day, 12), 30)
        removed(held, at=on(day + 1))
        removed(holder, at=on(day + 1))
    assert (minutes(outer), minutes(inner)) == (60, 60)


def test_a_flight_entered_late_counts_for_what_was_installed_when_it_was_flown(hangar: Hangar) -> None:
    old, new = hangar.engine(), hangar.engine()
    installed(old, hangar.one, hangar.bay, at=on(2))
    removed(old, at=on(4, 12))
    installed(new, hangar.one, hangar.bay, at=on(4, 12))
    late = flown(hangar.one, on(3), 45, recorded_at=on(20))
    flown(hangar.one, on(4, 12), 7, recorded_at=on(20))  # took off when the new one was in
    assert (minutes(old), minutes(new)) == (45, 7)
    taken_back(late, recorded_at=on(21))  # the counter-entry lies where its entry does
    assert (minutes(old), minutes(new)) == (0, 7)
    assert life.touched_by(hangar.one.id, on(3)) == {hangar.one.id}


def test_a_late_entry_tells_which_other_aircraft_it_concerns(hangar: Hangar) -> None:
    engine, magneto = hangar.engine(), hangar.magneto()
    installed(magneto, engine, hangar.drive, at=on(1))
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(magneto, at=on(3))
    removed(engine, at=on(4))
    other_engine = hangar.engine()
    installed(other_engine, hangar.other, hangar.bay, at=on(5))
    assert life.touched_by(hangar.one.id, on(2, 12)) == set()
    installed(magneto, other_engine, hangar.drive, at=on(6))
    assert life.touched_by(hangar.one.id, on(2, 12)) == {hangar.other.id}
    assert life.touched_by(hangar.one.id, on(4)) == set()


def test_a_line_of_a_day_counts_for_all_that_may_have_flown_it(hangar: Hangar) -> None:
    """Nobody knows whether the day was flown before or after the exchange: no life is told too short."""
    old, new = hangar.engine(), hangar.engine()
    installed(old, hangar.one, hangar.bay, at=on(2))
    out = removed(old, at=on(4, 12))
    day_flown(hangar.one, date(2025, 3, 4), 300, recorded_at=on(6))
    into = installed(new, hangar.one, hangar.bay, at=on(4, 13), recorded_at=on(6))
    assert (minutes(old), minutes(new)) == (300, 300)
    assert into.meter_in["airframe_minutes"] == 60_000
    assert meter(out.meter_out) == 60_000  # as recorded then; the line came later
    day_flown(hangar.one, date(2025, 3, 3), 11, recorded_at=on(6))
    day_flown(hangar.one, date(2025, 3, 5), 13, recorded_at=on(6))
    assert (minutes(old), minutes(new)) == (311, 313)


def test_a_line_of_a_day_was_flown_before_it_was_recorded(hangar: Hangar) -> None:
    old, new = hangar.engine(), hangar.engine()
    installed(old, hangar.one, hangar.bay, at=on(2))
    day_flown(hangar.one, date(2025, 3, 4), 300, recorded_at=on(4, 11))
    removed(old, at=on(4, 12))
    installed(new, hangar.one, hangar.bay, at=on(4, 12))
    day_flown(hangar.one, date(2025, 3, 4), 20, recorded_at=on(4, 18))
    assert (minutes(old), minutes(new)) == (320, 20)


def test_a_line_of_a_day_counts_once_for_what_was_out_and_in_again(hangar: Hangar) -> None:
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 50})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(engine, at=on(4, 9))
    installed(engine, hangar.one, hangar.bay, at=on(4, 10))
    day_flown(hangar.one, date(2025, 3, 4), 300, recorded_at=on(5))
    assert minutes(engine) == 350
    readings = [(one.before, one.flown) for one in life.metered(life.spans_of([engine.id])[engine.id])]
    assert [flown["airframe_minutes"] for _, flown in readings] == [300, 0]
    assert [before["airframe_minutes"] for before, _ in readings] == [60_000, 60_300]


def test_after_an_overhaul_on_the_day_of_a_line_it_counts_again(hangar: Hangar) -> None:
    engine = hangar.engine()
    installed(engine, hangar.one, hangar.bay, at=on(2))
    removed(engine, at=on(4, 9))
    overhauled(engine, on=date(2025, 3, 4), at=on(4, 10))
    installed(engine, hangar.one, hangar.bay, at=on(4, 11))
    day_flown(hangar.one, date(2025, 3, 4), 300, recorded_at=on(5))
    assert (minutes(engine), since_overhaul(engine)) == (300, 300)


def test_the_day_of_a_line_is_that_of_the_clubs_zone(hangar: Hangar) -> None:
    """Vienna is an hour ahead of UTC until 30 March 2025, 01:00 UTC, then two (IANA time zone database)."""
    engine = hangar.engine()
    day_flown(hangar.one, date(2025, 3, 29), 100, recorded_at=on(31, 20))
    day_flown(hangar.one, date(2025, 3, 30), 10, recorded_at=on(31, 20))
    day_flown(hangar.one, date(2025, 3, 31), 1, recorded_at=on(31, 20))
    installed(engine, hangar.one, hangar.bay, at=on(29, 23))  # midnight
    assert minutes(engine) == 11
    removed(engine, at=on(30, 22))  # midnight again, 23 hours later
    assert minutes(engine) == 10


def test_nothing_is_known_while_an_aircrafts_usage_is_not(hangar: Hangar) -> None:
    unopened = make_aircraft(hangar.one.club, aircraft_type=hangar.one.aircraft_type)
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 50})
    into = installed(engine, unopened, hangar.bay, at=on(2))
    flown(unopened, on(2, 12), 20)
    assert into.meter_in == {} and minutes(engine) is None
    (span,) = life.lives_of([engine])[engine.id].uncovered
    assert (span.aircraft_id, span.since) == (unopened.id, on(2))
    late = opened(unopened, on=date(2025, 3, 3))
    assert minutes(engine) is None  # what was flown from 2 to 3 March is in the balance, and not known
    taken_back(late, recorded_at=on(4))
    opened(unopened, on=date(2025, 3, 2))
    assert minutes(engine) == 70
    removed(engine, at=on(5))
    assert minutes(engine) == 70


def test_an_opening_balance_is_no_flying(hangar: Hangar) -> None:
    """Not even of the day of an installation, nor when it is taken back."""
    aircraft = make_aircraft(hangar.one.club, aircraft_type=hangar.one.aircraft_type)
    wrong = opened(aircraft, on=date(2025, 3, 2), airframe_minutes=90_000)
    engine = hangar.engine()
    into = installed(engine, aircraft, hangar.bay, at=on(2))
    assert into.meter_in["airframe_minutes"] == 90_000
    assert minutes(engine) == 0
    taken_back(wrong, recorded_at=on(3))
    opened(aircraft, on=date(2025, 3, 2), airframe_minutes=80_000, recorded_at=on(3))
    assert minutes(engine) == 0
    assert life.readings_at([(aircraft.id, on(2))])[0]["airframe_minutes"] == 80_000


def test_an_unknown_dimension_stays_unknown(hangar: Hangar) -> None:
    engine = hangar.engine(brought_forward={"launches": 5})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 20)
    assert life.totals_of([engine])[engine.id] == {"launches": 6}


def test_an_unknown_history_is_unknown_in_every_dimension(hangar: Hangar) -> None:
    """ML.A.504(a): information is missing."""
    engine = hangar.engine(history_known=False, brought_forward={})
    assert life.totals_of([engine])[engine.id] == {}


def test_a_life_at_a_past_instant(hangar: Hangar) -> None:
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 50})
    installed(engine, hangar.one, hangar.bay, at=on(2))
    flown(hangar.one, on(2, 12), 20)
    flown(hangar.one, on(4, 12), 3)
    assert [minutes(engine, at) for at in (on(2), on(2, 12), on(2, 12, 1), on(4, 12), on(5))] == [50, 50, 70, 70, 73]


def test_before_a_component_came_only_nothing_is_known(hangar: Hangar) -> None:
    """What a used one had run then is not known; that a dimension was still 0 is."""
    engine = hangar.engine(brought_forward=NEW | {"airframe_minutes": 50}, at=on(1))
    assert life.totals_of([engine], datetime(2024, 1, 1, tzinfo=UTC))[engine.id] == {
        name: 0 for name in NEW if name != "airframe_minutes"
    }
    installed(engine, hangar.one, hangar.bay, at=datetime(2025, 1, 5, tzinfo=UTC), recorded_at=on(2))
    assert minutes(engine, datetime(2025, 1, 6, tzinfo=UTC)) == 50


def test_lives_of_many_take_as_many_queries_as_of_one(hangar: Hangar, django_assert_num_queries: Any) -> None:
    def furnished(aircraft: Aircraft) -> list[Component]:
        engine, magneto = hangar.engine(), hangar.magneto()
        overhauled(engine, on=date(2025, 3, 1), at=on(1))
        installed(magneto, engine, hangar.drive, at=on(2))
        installed(engine, aircraft, hangar.bay, at=on(3))
        flown(aircraft, on(4), 5)
        return [engine, magneto]

    few = furnished(hangar.one)
    many = [*few, *furnished(hangar.other)]
    for asked in (few, many):
        with django_assert_num_queries(2):
            life.totals_of(asked)
        with django_assert_num_queries(4):
            life.lives_of(asked)
        with django_assert_num_queries(2):
            life.installed_in([hangar.one.id, hangar.other.id][: len(asked) // 2])
    assert life.totals_of([]) == {} and life.lives_of([]) == {}
