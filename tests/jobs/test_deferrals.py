"""The job that ends deferrals: at the end of the last covered day, once, and the aircraft was grounded before it came."""

from datetime import UTC, date, datetime, timedelta

import pytest

from defects.lifecycle import DEFER
from defects.models import Defect, DeferralEnd
from defects.services import upkeep
from fleet.models import Aircraft, Club, Event
from fleet.services import upkeep as of_fleet
from tests.defects.attempts import attempt, free_inspector
from tests.factories import NOW, assessed, deferred
from tests.jobs.turns import TURNS, periods, stored
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

OVER_AT = TURNS["end of a deferral"].at
MOMENT = timedelta(microseconds=1)


@pytest.mark.parametrize("late", [timedelta(0), timedelta(hours=5), timedelta(days=3)])
def test_it_ends_a_deferral_once_its_last_day_is_over(aircraft: Aircraft, late: timedelta) -> None:
    defect = deferred(aircraft)
    with unchanged():
        assert upkeep.expire_deferrals(OVER_AT - MOMENT) == 0
    assert upkeep.expire_deferrals(OVER_AT + late) == 1
    assert Defect.objects.get(id=defect.id).state == "assessed"
    end = DeferralEnd.objects.get()
    assert (end.kind, end.past_limit, end.ended_by, end.ended_at) == ("expired", True, None, OVER_AT + late)
    (event,) = Event.objects.filter(kind="defect_expire")
    assert (event.subject_id, event.by, event.recorded_at) == (defect.id, None, OVER_AT + late)
    with unchanged():
        assert upkeep.expire_deferrals(OVER_AT + late) == 0


def test_grounded_from_the_end_of_the_day_and_not_from_the_run_of_the_job(aircraft: Aircraft) -> None:
    deferred(aircraft)
    upkeep.expire_deferrals(OVER_AT + timedelta(hours=5))
    grounded = [since for since, _until, (status, _ready, _rules), *_ in periods(aircraft) if status == "grounded"]
    assert OVER_AT in grounded
    assert stored(aircraft)[0] == "grounded"
    assert "deferral_expired grounds" in stored(aircraft)[2]


def test_either_job_may_come_first(aircraft: Aircraft) -> None:
    deferred(aircraft)
    of_fleet.reassess_due(OVER_AT)
    upkeep.expire_deferrals(OVER_AT)
    assert stored(aircraft)[0] == "grounded"
    assert of_fleet.reassess_everything(OVER_AT) == 0


@pytest.mark.parametrize(
    ("time_zone", "over_at"),
    [
        ("Pacific/Kiritimati", datetime(2025, 5, 24, 10, 0, tzinfo=UTC)),  # UTC+14
        ("Pacific/Pago_Pago", datetime(2025, 5, 25, 11, 0, tzinfo=UTC)),  # UTC-11
    ],
)
def test_the_day_is_the_clubs(aircraft: Aircraft, time_zone: str, over_at: datetime) -> None:
    Club.objects.update(time_zone=time_zone)
    defect = assessed(aircraft)
    attempt(DEFER, defect, by=free_inspector(aircraft), until_date=date(2025, 5, 24))
    assert upkeep.expire_deferrals(over_at - MOMENT) == 0
    assert upkeep.expire_deferrals(over_at) == 1


def test_a_limit_in_launches_waits_for_a_person_and_grounds_meanwhile(aircraft: Aircraft) -> None:
    attempt(DEFER, assessed(aircraft), by=free_inspector(aircraft), until_date=None, until_launches=900)
    assert upkeep.expire_deferrals(NOW + timedelta(days=400)) == 0
    assert stored(aircraft) == ("grounded", False, ("deferral_expired grounds",))


def test_several_on_one_aircraft_end_each_on_its_day(aircraft: Aircraft) -> None:
    for number, days in enumerate((3, 1, 2)):
        deferred(aircraft, at=NOW + number * timedelta(minutes=10), days=days)
    ended = [upkeep.expire_deferrals(TURNS["midnight"].at + timedelta(days=days)) for days in range(4)]
    assert ended == [0, 1, 1, 1]
