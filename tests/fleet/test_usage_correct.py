"""Counter-entries, and that totals are the sum of entries in whatever order they came."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db.models import Sum
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from fleet import events
from fleet.errors import Conflict, Forbidden, Invalid, NotFound
from fleet.models import DIMENSIONS, Aircraft, Event, Role, UsageEntry, UsageTotal
from fleet.models.usage import LAUNCH_KINDS
from fleet.services import usage
from fleet.services.usage import Line, LinesRefused, Recorded, totals
from tests.factories import NOW, ClubFactory, MemberFactory, make_aircraft, member_of
from tests.factories.usage import flown, opened, taken_back
from tests.scenes import an_aircraft
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

TODAY = NOW.date()


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    made = an_aircraft()
    opened(made)
    return made


def total(aircraft: Aircraft) -> dict[str, int]:
    return UsageTotal.objects.get(aircraft=aircraft).amounts()


def timed(aircraft: Aircraft) -> Recorded:
    takeoff = NOW - timedelta(hours=2)
    line = Line(
        takeoff_at=takeoff, landing_at=takeoff + timedelta(minutes=40), aerotow_launches=1, engine_minutes=3, cycles=2
    )
    return flown(aircraft, line)


def test_a_correction_takes_back_everything_and_stands_where_the_entry_stands(aircraft: Aircraft) -> None:
    before = total(aircraft)
    recorded = timed(aircraft)
    assert total(aircraft) != before
    (entry,), (counter,) = recorded.entries, taken_back(recorded).entries
    assert counter.corrects_id == entry.id
    assert total(aircraft) == before
    for name in (*DIMENSIONS, *LAUNCH_KINDS):
        assert getattr(counter, name) == -getattr(entry, name)
    assert (counter.flown_on, counter.takeoff_at, counter.landing_at) == (
        entry.flown_on,
        entry.takeoff_at,
        entry.landing_at,
    )
    assert (counter.source, counter.remark) == ("correction", "Entered twice.")


def test_a_correction_is_told_with_what_it_takes_back(aircraft: Aircraft) -> None:
    recorded = timed(aircraft)
    taken_back(recorded)
    event = Event.objects.get(kind="usage_correct")
    assert f'"corrects":"{recorded.entries[0].id}"' in event.canonical
    assert '"airframe_minutes":-40' in event.canonical
    assert events.verify(aircraft.club).valid


@pytest.mark.parametrize("role", Role)
def test_who_corrects(aircraft: Aircraft, role: Role) -> None:
    (entry,) = flown(aircraft).entries
    by = MemberFactory.create(club=aircraft.club, roles=[role])
    if role == Role.TECHNICAL_OFFICER:
        assert usage.correct(entry_id=entry.id, by=by, at=NOW, remark="Wrong.").entries[0].recorded_by == by
        return
    with unchanged(), pytest.raises(Forbidden):
        usage.correct(entry_id=entry.id, by=by, at=NOW, remark="Wrong.")


def test_nothing_is_corrected_twice_and_no_correction_is(aircraft: Aircraft) -> None:
    recorded = flown(aircraft)
    counter = taken_back(recorded)
    for one, code in ((recorded, "corrected"), (counter, "is_correction")):
        with unchanged(), pytest.raises(Conflict) as refusal:
            taken_back(one)
        assert refusal.value.code == code
        assert refusal.value.current


def test_a_correction_says_why(aircraft: Aircraft) -> None:
    recorded = flown(aircraft)
    member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    with unchanged(), pytest.raises(Invalid):
        taken_back(recorded, remark="  ")


def test_for_another_club_the_entry_is_not_there(aircraft: Aircraft) -> None:
    (entry,) = flown(aircraft).entries
    stranger = MemberFactory.create(club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER])
    for entry_id in (entry.id, uuid4()):
        with unchanged(), pytest.raises(NotFound):
            usage.correct(entry_id=entry_id, by=stranger, at=NOW, remark="Wrong.")


def test_what_was_taken_back_may_be_recorded_anew(aircraft: Aircraft) -> None:
    taken_back(timed(aircraft))
    assert total(aircraft)["airframe_minutes"] == 60_000
    timed(aircraft)
    assert total(aircraft)["airframe_minutes"] == 60_040
    with pytest.raises(LinesRefused):
        timed(aircraft)


def test_the_record_reaches_no_further_than_what_counts(aircraft: Aircraft) -> None:
    flown(aircraft, flown_on=TODAY - timedelta(days=3))
    taken_back(timed(aircraft))
    assert UsageTotal.objects.get(aircraft=aircraft).recorded_to == datetime(2025, 5, 11, 22, tzinfo=UTC)


def test_without_its_opening_balance_the_usage_is_unknown_again(aircraft: Aircraft) -> None:
    flown(aircraft)
    opening = UsageEntry.objects.get(source="opening")
    by = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    corrected = usage.correct(entry_id=opening.id, by=by, at=NOW, remark="Misread.")
    assert corrected.total is None
    assert not UsageTotal.objects.exists()
    assert opened(aircraft, minutes=5_000, launches=100, at=NOW).total is not None
    assert total(aircraft)["airframe_minutes"] == 5_010
    assert total(aircraft)["launches"] == 101


def test_an_opening_balance_of_nothing_can_be_corrected() -> None:
    made = make_aircraft(ClubFactory.create())
    taken_back(opened(made, minutes=0, launches=0))
    assert not UsageTotal.objects.exists()


amounts = st.fixed_dictionaries(
    {
        "flown_on": st.dates(date(2025, 1, 1), date(2025, 5, 13)),
        "airframe_minutes": st.integers(0, 120),
        "winch_launches": st.integers(1, 9),
        "aerotow_launches": st.integers(0, 3),
        "landings": st.integers(0, 9),
        "engine_minutes": st.integers(0, 120),
        "engine_starts": st.integers(0, 9),
        "cycles": st.integers(0, 9),
    }
)


class AnyOrder(TestCase):
    """Whatever is recorded, corrected and opened in whatever order."""

    @settings(deadline=None, max_examples=12)
    @given(st.lists(amounts, min_size=1, max_size=6), st.data())
    def test_totals_are_the_sum_of_what_counts(self, lines: list[dict[str, Any]], data: st.DataObject) -> None:
        made = an_aircraft()
        ordered: Sequence[dict[str, Any]] = data.draw(st.permutations(lines))
        opened_after = data.draw(st.integers(0, len(lines)))
        corrected = data.draw(st.sets(st.sampled_from(range(len(lines)))))
        for place, line in enumerate(ordered):
            if place == opened_after:
                opened(made, at=NOW)
            recorded = flown(made, Line(**line))
            if place in corrected:
                taken_back(recorded)
        if opened_after == len(lines):
            opened(made, at=NOW)
        kept = [line for place, line in enumerate(ordered) if place not in corrected]
        stored = UsageTotal.objects.get(aircraft=made)
        assert stored.airframe_minutes == 60_000 + sum(line["airframe_minutes"] for line in kept)
        assert stored.launches == 2_000 + sum(line["winch_launches"] + line["aerotow_launches"] for line in kept)
        assert stored.cycles == sum(line["cycles"] for line in kept)
        sums = UsageEntry.objects.filter(aircraft=made).aggregate(**{name: Sum(name) for name in DIMENSIONS})
        assert stored.amounts() == sums
        again = totals.rebuild(made)  # from nothing
        assert again is not None
        assert (again.amounts(), again.recorded_to) == (stored.amounts(), stored.recorded_to)
