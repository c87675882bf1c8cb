"""From facts to the stored verdict: sources, the lock, the clock, periods."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from fleet import assessment, events
from fleet.errors import NotFound
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod, Event
from tests.factories import NOW, ClubFactory, fresh, make_aircraft, reported
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
MOMENT = timedelta(microseconds=1)


@pytest.fixture
def sources(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """What is registered meanwhile is forgotten afterwards."""
    with monkeypatch.context() as patch:
        patch.setattr(assessment, "_SOURCES", dict(assessment._SOURCES))
        yield


def nothing(_ids: Sequence[UUID], _at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    return {}


def test_every_fact_has_exactly_one_source() -> None:
    assessment.check_sources()


@pytest.mark.parametrize("provides", [("defects",), ("unheard_of",)])
def test_a_fact_with_two_sources_or_of_no_use_stops_the_start(sources: None, provides: tuple[str, ...]) -> None:
    assessment.register("another", provides=provides, gather=nothing)
    with pytest.raises(assessment.SourcesIncomplete, match=provides[0]):
        assessment.check_sources()


def test_a_fact_without_a_source_stops_the_start(sources: None) -> None:
    del assessment._SOURCES["defects"]
    with pytest.raises(assessment.SourcesIncomplete, match="item_failures"):
        assessment.check_sources()


def test_a_source_that_forgets_an_aircraft_grounds_it(
    aircraft: Aircraft, sources: None, caplog: pytest.LogCaptureFixture
) -> None:
    provides, _gather = assessment._SOURCES["inspections"]
    assessment.register("inspections", provides=provides, gather=nothing)
    verdict = assessment.assess([aircraft.id], NOW)[aircraft.id]
    assert (verdict.status.code, [reason.rule for reason in verdict.reasons]) == ("grounded", ["rule_error"])
    assert any("could not be gathered" in record.getMessage() for record in caplog.records)


def test_the_lock_is_the_clubs_own(aircraft: Aircraft) -> None:
    assert assessment.lock(aircraft.id, club_id=aircraft.club_id, at=NOW) == aircraft
    for key, club_id in ((aircraft.id, ClubFactory.create().id), (uuid4(), aircraft.club_id)):
        with unchanged(), pytest.raises(NotFound):
            assessment.lock(key, club_id=club_id, at=NOW)


def test_many_are_locked_in_the_order_of_their_ids(aircraft: Aircraft) -> None:
    made = [make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type) for _ in range(3)]
    ids = [one.id for one in assessment.lock_many(Aircraft.objects.order_by("-registration"), at=NOW)]
    assert ids == sorted(one.id for one in [aircraft, *made])


def judged(aircraft: Aircraft, at: datetime) -> AirworthinessState:
    with transaction.atomic():
        locked = assessment.lock(aircraft.id, club_id=aircraft.club_id, at=at)
        assessment.conclude([locked], at=at)
    return fresh(aircraft).airworthiness


def test_a_verdict_that_stays_the_same_opens_no_period_and_tells_nothing(aircraft: Aircraft) -> None:
    with unchanged(besides=("fleet_airworthinessstate",)):
        state = judged(aircraft, NOW)
    assert state.assessed_at == NOW
    assert state.shown_from < NOW


def test_a_clock_that_lags_never_rewrites_what_was_shown(aircraft: Aircraft) -> None:
    reported(aircraft, at=NOW)
    before = list(AssessmentPeriod.objects.order_by("shown_from").values_list("id", "shown_from"))
    reported(aircraft, at=NOW - HOUR, critical=True)  # another server's clock
    state = fresh(aircraft).airworthiness
    assert (state.status, state.assessed_at) == ("grounded", NOW)
    after = list(AssessmentPeriod.objects.order_by("shown_from").values_list("id", "shown_from"))
    assert after[: len(before)] == before
    assert after[-1][1] == NOW + MOMENT  # two in one instant: a period is never empty


def test_periods_follow_each_other_without_a_gap_and_the_last_is_what_is_stored(aircraft: Aircraft) -> None:
    for number, critical in enumerate((False, True, False)):
        reported(aircraft, at=NOW + number * HOUR, critical=critical)
    listed = list(AssessmentPeriod.objects.filter(aircraft=aircraft).order_by("shown_from"))
    assert [one.shown_to for one in listed] == [*(one.shown_from for one in listed[1:]), None]
    state = fresh(aircraft).airworthiness
    assert [getattr(listed[-1], name) for name in assessment.SHOWN] == [
        getattr(state, name) for name in assessment.SHOWN
    ]
    assert state.shown_from == listed[-1].shown_from


def test_an_event_tells_of_every_change_of_status_and_of_no_other(aircraft: Aircraft) -> None:
    told = Event.objects.filter(kind="airworthiness_changed", aircraft=aircraft)
    counts = [told.count()]
    for number, critical in enumerate((False, False, True, True)):
        reported(aircraft, at=NOW + number * HOUR, critical=critical)
        counts.append(told.count())
    assert [later - earlier for earlier, later in pairwise(counts)] == [1, 0, 1, 0]


def test_entries_of_an_act_stand_before_the_change_that_they_make(aircraft: Aircraft) -> None:
    reported(aircraft, critical=True)
    last = Event.objects.filter(aircraft=aircraft).order_by("-sequence")[:2]
    assert [event.kind for event in last] == ["airworthiness_changed", "defect_report"]


def test_a_failed_act_leaves_neither_event_nor_period(aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_args: object, **_more: object) -> None:
        raise RuntimeError("no room on the device")

    monkeypatch.setattr(events, "append", broken)
    with unchanged(), pytest.raises(RuntimeError):
        reported(aircraft, critical=True)


def test_a_source_is_asked_once_for_all_the_aircraft(aircraft: Aircraft, sources: None) -> None:
    other = make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    provides, gather = assessment._SOURCES["defects"]
    asked: list[tuple[set[UUID], datetime]] = []

    def watched(ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
        asked.append((set(ids), at))
        return gather(ids, at)

    assessment.register("defects", provides=provides, gather=watched)
    assessment.assess([aircraft.id, other.id], NOW)
    assert asked == [({aircraft.id, other.id}, NOW)]
