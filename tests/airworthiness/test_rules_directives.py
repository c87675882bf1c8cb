"""Rules about directives."""

from datetime import UTC, datetime
from typing import Any

import pytest

from fleet.airworthiness import due
from fleet.airworthiness.due import Limits
from fleet.airworthiness.rules.directives import DIRECTIVE_OVERDUE, DIRECTIVE_UNASSESSED
from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import MOMENT, NOW
from tests.airworthiness.due_builders import (
    DUE_TODAY,
    LAUNCHES,
    Known,
    again,
    days,
    directive,
    done,
    found,
    schedule,
    turns,
    usage,
)

GROUNDS, ADVISES = [Effect.GROUNDS], [Effect.ADVISES]
APRIL_1ST = again(schedule(days(31, notice_days=7)), done("2026-03-01"))
EACH_50 = again(schedule(usage(50, LAUNCHES)), done(launches=100))


def at(day: int, month: int = 4) -> datetime:
    return datetime(2026, month, day, 12, 0, tzinfo=UTC)


def effects(one: Any, now: datetime = NOW) -> list[Effect]:
    return [reason.effect for reason in found(DIRECTIVE_OVERDUE, Known(directives=(one,)), now)]


@pytest.mark.parametrize(
    ("now", "expected"), [(at(24, 3), []), (at(25, 3), ADVISES), (at(1), ADVISES), (at(2), GROUNDS)]
)
def test_a_directive_grounds_the_day_after_its_date(now: datetime, expected: Any) -> None:
    # Check value T11: ML.A.303, due 2026-04-01: not overdue on that day, grounded on 2026-04-02.
    assert effects(directive(APRIL_1ST), now) == expected


@pytest.mark.parametrize(("launches", "expected"), [(149, []), (150, ADVISES), (151, GROUNDS)])
def test_a_repeating_directive_by_launches(launches: int, expected: Any) -> None:
    assert effects(directive(EACH_50, readings={LAUNCHES: launches})) == expected


def test_a_directive_has_no_tolerance() -> None:
    known = directive(DUE_TODAY)  # limits with a month of tolerance
    assert effects(known, at(10, 5)) == ADVISES
    assert effects(known, at(11, 5)) == GROUNDS


@pytest.mark.parametrize("limits", [None, EACH_50, due.limits(schedule(days(31)), None, None, None)])
def test_a_limit_that_is_not_known_grounds(limits: Limits | None) -> None:
    (reason,) = found(DIRECTIVE_OVERDUE, Known(directives=(directive(limits),)))
    assert reason.effect is Effect.GROUNDS
    assert reason.message == (
        "Directive 2026-0001 (Wing fittings): it applies, and it is not known when it must be complied with."
    )


@pytest.mark.parametrize("changes", [{"complied_finally": True}, {"decision": "not_applicable"}])
def test_what_is_settled_is_not_told(changes: dict[str, Any]) -> None:
    for limits in (APRIL_1ST, None):
        one = directive(limits, **changes)
        assert effects(one) == []
        assert found(DIRECTIVE_UNASSESSED, Known(directives=(one,))) == []


@pytest.mark.parametrize("decision", [None, "", "perhaps"])
@pytest.mark.parametrize("complied_finally", [False, True])
def test_a_directive_that_nobody_has_assessed_grounds(decision: Any, complied_finally: bool) -> None:
    one = directive(APRIL_1ST, decision=decision, complied_finally=complied_finally)
    (reason,) = found(DIRECTIVE_UNASSESSED, Known(directives=(one,)))
    assert reason.effect is Effect.GROUNDS
    assert reason.message == (
        "Directive 2026-0001 (Wing fittings): nobody has decided yet whether it applies to this aircraft."
    )
    assert (reason.subject_type, reason.subject_id) == ("directive", "directive")
    assert effects(one) == []


def test_sentences() -> None:
    known = Known(directives=(directive(APRIL_1ST),))
    (soon,), (over,) = found(DIRECTIVE_OVERDUE, known, at(1)), found(DIRECTIVE_OVERDUE, known, at(2))
    assert soon.message == "Directive 2026-0001 (Wing fittings): due soon, by the end of 2026-04-01."
    assert over.message == (
        "Directive 2026-0001 (Wing fittings): overdue, it was to be complied with by the end of 2026-04-01."
    )


def test_the_findings_turn_at_midnight() -> None:
    known = Known(directives=(directive(APRIL_1ST),))
    opens, ends = turns(DIRECTIVE_OVERDUE, known)
    assert (opens, ends) == (datetime(2026, 3, 24, 23, 0, tzinfo=UTC), datetime(2026, 4, 1, 22, 0, tzinfo=UTC))
    assert effects(directive(APRIL_1ST), ends - MOMENT) == ADVISES
    assert effects(directive(APRIL_1ST), ends) == GROUNDS


@pytest.mark.parametrize("one", [directive(None), directive(EACH_50), directive(APRIL_1ST, decision="not_applicable")])
def test_what_time_cannot_change_does_not_turn(one: Any) -> None:
    assert list(turns(DIRECTIVE_OVERDUE, Known(directives=(one,)))) == []
