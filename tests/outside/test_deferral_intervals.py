"""Deferral limits that use the days of a minimum equipment list: the last covered day, and grounded at the next midnight."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from defects.lifecycle import DEFER
from fleet import assessment
from fleet.airworthiness.limits import deferral_deadline
from fleet.models import Aircraft, Club, Role
from fleet.services import upkeep
from tests.defects.attempts import attempt
from tests.factories import assessed, fresh
from tests.outside.conftest import Everybody

pytestmark = pytest.mark.django_db

# Check values T43 to T45, T47, T48: FAA MMEL Policy Letter 25, CS MMEL.105 (day of discovery excluded). The zone of the
# club is the operator's choice of day (CS MMEL.105(d)).
INTERVALS = [
    ("T43", date(2026, 1, 26), "B", date(2026, 1, 29)),
    ("T44", date(2026, 1, 26), "C", date(2026, 2, 5)),
    ("T45", date(2026, 1, 26), "D", date(2026, 5, 26)),
    ("T47", date(2025, 2, 26), "B", date(2025, 3, 1)),
    ("T48", date(2025, 12, 30), "C", date(2026, 1, 9)),
]
MOMENT = timedelta(microseconds=1)


@pytest.mark.parametrize("time_zone", ["Europe/Vienna", "Pacific/Auckland", "America/St_Johns"])
@pytest.mark.parametrize(
    ("recorded_on", "category", "last_day"), [case[1:] for case in INTERVALS], ids=[case[0] for case in INTERVALS]
)
def test_deferred_for_its_interval(
    aircraft: Aircraft,
    everybody: Everybody,
    recorded_on: date,
    category: str,
    last_day: date,
    time_zone: str,
) -> None:
    Club.objects.update(time_zone=time_zone)
    zone = ZoneInfo(time_zone)
    recorded_at = datetime.combine(recorded_on, time(10), tzinfo=zone)
    assert deferral_deadline(recorded_on, category) == last_day
    defect = assessed(fresh(aircraft), at=recorded_at)
    attempt(
        DEFER,
        defect,
        by=everybody[Role.TECHNICAL_OFFICER],
        at=recorded_at + timedelta(hours=1),
        until_date=last_day,
        basis=f"category {category}",
    )
    over_at = datetime.combine(last_day + timedelta(days=1), time(), tzinfo=zone)
    state = fresh(aircraft).airworthiness
    covered = assessment.shown_at(state, over_at - MOMENT)
    assert (covered["status"], [one["rule"] for one in covered["reasons"]]) == ("limited", ["deferral_running"])
    passed = assessment.shown_at(state, over_at)
    assert (passed["status"], [one["rule"] for one in passed["reasons"]]) == ("grounded", ["deferral_expired"])
    upkeep.reassess_due(over_at + timedelta(hours=3))
    assert fresh(aircraft).airworthiness.shown_from == over_at


def test_category_a_has_no_default() -> None:
    # Check value T49: FAA MMEL Policy Letter 25.
    with pytest.raises(ValueError, match="Category A has no default interval"):
        deferral_deadline(date(2026, 1, 26), "A")


def test_extended_once_for_the_same_duration() -> None:
    # MEL-5, test line: B recorded 2026-01-26, extended once -> 2026-02-01 (ORO.MLR.105(f), from memory, reproduced).
    first = deferral_deadline(date(2026, 1, 26), "B")
    assert deferral_deadline(first, "B") == date(2026, 2, 1)
