"""What the jobs flag: each thing once, an event and a notification for every technical officer."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from defects.lifecycle import RECTIFY, TRIAGE, WITHDRAW_DEFERRAL
from defects.services import upkeep as of_defects
from fleet.errors import NotFound
from fleet.models import Aircraft, Event, Flag, Membership, Notification, Role
from fleet.services import flags, notices, upkeep
from inspections.services import events
from inspections.services import upkeep as of_inspections
from tests.defects.attempts import attempt, free_inspector
from tests.factories import NOW, ClubFactory, MemberFactory, deferred, fresh, inspect, keeper_of, reported, rig
from tests.jobs.turns import TURNS
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

MIDNIGHT = TURNS["midnight"].at
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
MOMENT = timedelta(microseconds=1)
Job = Callable[[datetime], int]


def flag_dailies(at: datetime) -> int:
    upkeep.reassess_due(at)
    return upkeep.flag_lapsed_dailies(at)


def happened(aircraft: Aircraft) -> None:
    events.report_occurrence(
        aircraft_id=aircraft.id,
        by=keeper_of(aircraft.club),
        at=NOW,
        kind="lightning",
        occurred_at=NOW,
        description="A flash.",
    )


CASES: dict[str, tuple[Callable[[Aircraft], object], Job, datetime, str]] = {
    "a daily inspection lapses": (
        lambda aircraft: inspect(aircraft, at=NOW),
        flag_dailies,
        MIDNIGHT,
        "daily_inspection_lapsed",
    ),
    # three days before the end of the 24th
    "a deferral ends soon": (deferred, of_defects.flag_deferrals, MIDNIGHT + 7 * DAY, "deferral_ending"),
    "a report is due": (
        lambda aircraft: reported(aircraft, occurrence=True),
        of_defects.flag_reports,
        NOW + 48 * HOUR,
        "occurrence_report_due",
    ),
    "a report is overdue": (
        lambda aircraft: reported(aircraft, occurrence=True),
        of_defects.flag_reports,
        NOW + 72 * HOUR,
        "occurrence_report_overdue",
    ),
    "an occurrence is known": (happened, of_inspections.flag_occurrences, NOW, "occurrence_report_due"),
    "an occurrence is overdue": (
        happened,
        of_inspections.flag_occurrences,
        NOW + 72 * HOUR,
        "occurrence_report_overdue",
    ),
}


@pytest.mark.parametrize("what", CASES)
def test_it_is_flagged_at_its_instant_once_with_an_event_and_a_notification_for_each_officer(
    aircraft: Aircraft, what: str
) -> None:
    build, job, at, kind = CASES[what]
    officers = {
        keeper_of(aircraft.club),
        MemberFactory.create(club=aircraft.club, roles=[Role.TECHNICAL_OFFICER, Role.PILOT]),
    }
    gone = MemberFactory.create(club=aircraft.club, roles=[Role.TECHNICAL_OFFICER])
    Membership.objects.filter(id=gone.id).update(active=False)
    MemberFactory.create(club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER])
    build(aircraft)
    if at > NOW:  # an occurrence is news from its report on
        job(at - MOMENT)
        assert not Flag.objects.filter(kind=kind).exists()
    assert job(at) == 1
    flag = Flag.objects.get(kind=kind)
    assert (flag.aircraft_id, flag.raised_at) == (aircraft.id, at)
    told = Event.objects.get(kind=f"flag_{kind}")
    assert (told.aircraft_id, told.by, told.recorded_at) == (aircraft.id, None, at)
    rows = Notification.objects.filter(kind=kind).select_related("recipient")
    assert {row.recipient for row in rows} == officers
    assert all(row.message.startswith(aircraft.registration) and row.created_at == at for row in rows)
    for later in (at, at + HOUR):
        with unchanged():
            assert job(later) == 0


@pytest.mark.parametrize(
    ("what", "undo"),
    [
        ("a daily inspection lapses", lambda aircraft: rig(aircraft, at=NOW + HOUR)),
        (
            "a deferral ends soon",
            lambda aircraft: attempt(WITHDRAW_DEFERRAL, aircraft.defects.get(), by=free_inspector(aircraft)),
        ),
        (
            "a deferral ends soon",
            lambda aircraft: attempt(RECTIFY, aircraft.defects.get(), by=free_inspector(aircraft)),
        ),
        (
            "a report is due",
            lambda aircraft: attempt(TRIAGE, aircraft.defects.get(), by=free_inspector(aircraft), reportable=False),
        ),
    ],
)
def test_what_is_settled_is_not_flagged(aircraft: Aircraft, what: str, undo: Callable[[Aircraft], object]) -> None:
    build, job, at, _kind = CASES[what]
    build(aircraft)
    undo(fresh(aircraft))
    assert job(at) == 0
    assert Notification.objects.count() == 0


def test_after_an_outage_of_days_old_dailies_are_not_news(aircraft: Aircraft) -> None:
    inspect(aircraft, at=NOW)
    assert flag_dailies(MIDNIGHT + 25 * HOUR) == 0


def test_inspected_again_the_day_before_is_not_news_either(aircraft: Aircraft) -> None:
    inspect(aircraft, at=NOW)
    inspect(fresh(aircraft), at=MIDNIGHT + 8 * HOUR)
    assert flag_dailies(MIDNIGHT + 9 * HOUR) == 0


def test_a_key_is_flagged_once_for_ever_even_twice_in_one_run(aircraft: Aircraft) -> None:
    notice = flags.Notice(
        aircraft=aircraft, kind="odd", key="odd:1", message="Odd.", subject_type="aircraft", subject_id=aircraft.id
    )
    assert flags.raise_flags([notice, notice], at=NOW) == 1
    with unchanged():
        assert flags.raise_flags([notice], at=NOW + DAY) == 0
        assert flags.raise_flags([], at=NOW + DAY) == 0


def test_read_it_stays_read_since_the_first_time(aircraft: Aircraft) -> None:
    reported(aircraft, occurrence=True)
    of_defects.flag_reports(NOW + 72 * HOUR)
    officer = keeper_of(aircraft.club)
    row = Notification.objects.get(recipient=officer)
    assert notices.mark_read(notification_id=row.id, by=officer, at=NOW + 73 * HOUR).read_at == NOW + 73 * HOUR
    with unchanged():
        assert notices.mark_read(notification_id=row.id, by=officer, at=NOW + 74 * HOUR).read_at == NOW + 73 * HOUR


def test_a_notification_is_its_recipients_alone(aircraft: Aircraft) -> None:
    reported(aircraft, occurrence=True)
    of_defects.flag_reports(NOW + 72 * HOUR)
    row = Notification.objects.get()
    for by, key in ((free_inspector(aircraft), row.id), (keeper_of(aircraft.club), uuid4())):
        with unchanged(), pytest.raises(NotFound):
            notices.mark_read(notification_id=key, by=by, at=NOW + 73 * HOUR)
