"""Rules about installed components."""

from datetime import UTC, datetime

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due_facts import MissingPosition
from fleet.airworthiness.rules.components import COMPONENT_MISSING, LIFE_LIMIT_REACHED
from fleet.airworthiness.rules.programme import TASK_DUE_SOON, TASK_OVERDUE, TASK_UNKNOWN
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import DAY, NOW
from tests.airworthiness.due_builders import (
    DUE_TODAY,
    LAUNCHES,
    Known,
    done,
    first,
    found,
    months,
    part,
    schedule,
    turns,
    usage,
)

HOOK = schedule(usage(None, LAUNCHES, first=2000, notice=50), months(None, first=48), life_limit=True)
LIMITS = first(HOOK, done("2023-05-01", launches=0))


def hook(launches: int, mandatory: bool = True) -> Known:
    readings = {LAUNCHES: launches}
    return Known(due=(part(LIMITS, title="Life of the tow release", readings=readings, mandatory=mandatory),))


@pytest.mark.parametrize("mandatory", [True, False])
@pytest.mark.parametrize(("launches", "reached"), [(1999, False), (2000, True), (2001, True)])
def test_a_life_limit_grounds_at_the_limit_itself(launches: int, reached: bool, mandatory: bool) -> None:
    # Check value T65 and standards ML-503-1: ML.A.503, limits are an example only.
    known = hook(launches, mandatory)
    assert [reason.effect for reason in found(LIFE_LIMIT_REACHED, known)] == [Effect.GROUNDS] * reached
    assert found(TASK_OVERDUE, known) == []


def test_the_sentence_names_the_component_and_all_its_limits() -> None:
    (reason,) = found(LIFE_LIMIT_REACHED, hook(2000))
    assert reason.message == (
        "Life of the tow release, tow release 0815: its life limit is reached, by the end of 2027-05-01 or at 2000"
        " launches, whichever comes first."
    )
    assert (reason.subject_type, reason.subject_id) == ("component", "part")


def test_a_life_limit_is_told_before_it_is_reached() -> None:
    assert [reason.effect for reason in found(TASK_DUE_SOON, hook(1950))] == [Effect.ADVISES]


def test_a_life_limited_component_without_history_grounds() -> None:
    # Check value T72: ML.A.504(a)(3).
    known = Known(due=(part(due.limits(HOOK, None, None, None), known=False, mandatory=False),))
    assert [reason.effect for reason in found(TASK_UNKNOWN, known)] == [Effect.GROUNDS]
    assert found(LIFE_LIMIT_REACHED, known) == []


def test_by_calendar_it_is_reached_when_its_last_day_is_over() -> None:
    over_at = datetime(2027, 5, 1, 22, 0, tzinfo=UTC)
    assert list(turns(LIFE_LIMIT_REACHED, hook(0))) == [over_at]
    assert found(LIFE_LIMIT_REACHED, hook(0), over_at - DAY) == []
    assert len(found(LIFE_LIMIT_REACHED, hook(0), over_at)) == 1


def test_another_task_is_no_life_limit() -> None:
    known = Known(due=(part(DUE_TODAY),))
    assert found(LIFE_LIMIT_REACHED, known, NOW + 400 * DAY) == []
    assert list(turns(LIFE_LIMIT_REACHED, known)) == []


def test_an_empty_required_position_grounds() -> None:
    known = Known(missing_positions=(MissingPosition(id="position", title="Tow release, nose"),))
    (reason,) = found(COMPONENT_MISSING, known)
    assert reason.effect is Effect.GROUNDS
    assert (
        reason.message
        == "Tow release, nose: no component is installed at this position, although it must not be empty."
    )
    assert (reason.subject_type, reason.subject_id) == ("position", "position")
    assert found(COMPONENT_MISSING, Known()) == []
