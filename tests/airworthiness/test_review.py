"""The eleven checks: evidence, open, or not in these records (ML.A.903(a))."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from fleet.airworthiness.due import Dimension
from fleet.airworthiness.due_facts import MissingPosition, UsageRecord
from fleet.airworthiness.review import Outcome, review
from tests.airworthiness.builders import DAY, NOW, TODAY, assessed, defect, deferred, occurrence, rectified
from tests.airworthiness.review_builders import (
    CLOSED,
    COMPONENT,
    DIRECTIVE,
    KNOWN,
    TOTALS,
    UNKNOWN,
    WORK,
    check,
    known,
    limited,
    paper,
    task,
)

NOT_IN, OPEN, EVIDENCE = Outcome.NOT_IN_THESE_RECORDS, Outcome.OPEN, Outcome.EVIDENCE


def test_there_are_eleven_in_the_order_of_the_rule() -> None:
    made = review(KNOWN)
    assert [one.citation for one in made] == [f"ML.A.903(a)({number})" for number in range(1, 12)]
    assert [one.number for one in made if one.outcome == NOT_IN] == [2, 6, 10]  # nobody can see these from here
    assert [one.open for one in made] == [()] * 11
    assert review(KNOWN) == made


@pytest.mark.parametrize(
    ("number", "changes", "told"),
    [
        (1, {"totals": None}, "totals of the aircraft are not known"),
        (1, {"engine": True}, "The type has an engine"),
        (1, {"usage_record": UsageRecord(last_recorded_at=NOW - DAY, sign_of_flight_at=NOW)}, "signs of a flight"),
        (1, {"components": (replace(COMPONENT, since_new={}),)}, "Tow release S1: its time since new is not known"),
        (3, {"tasks": (task(limited(1_999)),)}, "task-1 (Inspection): overdue, it was due at 1999 launches"),
        (3, {"tasks": (task(limited(1_999), mandatory=False),)}, "task-1 (Inspection, advisory): overdue"),
        (3, {"tasks": (task(UNKNOWN),)}, "it is not known when it is due"),
        (3, {"tasks": (task(limited(3_000), readings={}),)}, "it is not known when it is due"),
        (5, {"directives": (replace(DIRECTIVE, decision=None),)}, "nobody has decided whether it applies"),
        (5, {"directives": (replace(DIRECTIVE, limits=None),)}, "no task says what it demands"),
        (5, {"directives": (replace(DIRECTIVE, limits=limited(1_999)),)}, "not shown to be complied with"),
        (5, {"directives": (replace(DIRECTIVE, limits=UNKNOWN),)}, "not shown to be complied with"),
        (5, {"directives": (replace(DIRECTIVE, limits=limited(3_000)),), "totals": None}, "not shown"),
        (7, {"tasks": (task(limited(2_000, life_limit=True)),)}, "overdue, it was due at 2000 launches"),
        (7, {"tasks": (task(replace(UNKNOWN, life_limit=True)),)}, "it is not known when it is due"),
        (7, {"components": (replace(COMPONENT, serviceable=False, condition="retired"),)}, "is retired, and installed"),
        (7, {"components": (replace(COMPONENT, history_known=False),)}, "its history is not known"),
        (8, {"defects": (rectified(),)}, "is not released to service."),
        (8, {"defects": (rectified(independent_inspection=None),)}, "nor inspected independently"),
        (9, {"papers": (paper("weighing_report", TODAY - timedelta(days=1)),)}, "expired, its last valid day was"),
        (
            10,
            {"missing_positions": (MissingPosition(id="x", title="Nose"),)},
            "Nose: the position is required, and empty",
        ),
        (11, {"papers": (paper("noise_certificate", TODAY - timedelta(days=1)),)}, "expired, its last valid day was"),
    ],
)
def test_what_is_wanting_is_open(number: int, changes: dict[str, Any], told: str) -> None:
    made = review(known(**changes))
    assert made[number - 1].outcome == OPEN
    assert told in made[number - 1].open[0]
    also = {5: {1}, 8: {4}}.get(number, set())  # unknown totals, and work that is not released, are open there too
    assert {one.number for one in made if one.outcome == OPEN} <= {number, *also}


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (defect(), "is reported, and neither corrected nor deferred"),
        (assessed(), "is assessed, and neither corrected nor deferred"),
        (assessed(assessment="hazard"), "is assessed, and neither corrected nor deferred"),
        (rectified(), "was worked on and is not released to service"),
        (deferred(until_at=NOW - DAY, until_date=TODAY - DAY), "that limit has passed"),
        (deferred(until_at=None, until_date=None, until_launches=2_000), "that limit has passed"),
        (deferred(until_at=None, until_date=None), "without a limit that can be checked"),
        (replace(deferred(), deferral=None), "no deferral is recorded"),
    ],
)
def test_an_open_defect_fails_check_4(found: Any, told: str) -> None:
    """Neither corrected nor deferred in a controlled manner: ML.A.903(a)(4) (T27)."""
    made = check(4, defects=(found,))
    assert (made.outcome, len(made.open)) == (OPEN, 1)
    assert told in made.open[0]


def test_a_deferral_within_its_limits_is_evidence() -> None:
    made = check(4, defects=(deferred(),))
    assert (made.outcome, made.notes) == (EVIDENCE, ("1 open, 1 of them deferred within their limits.",))
    assert made.tables[0].rows == (("4 crack near the hinge", "to the end of 2026-05-20", "no aerobatics"),)
    other = replace(deferred(), id="other", number=5)
    assert "AMC M.A.301(b)(2)" in check(4, defects=(deferred(), other)).notes[1]
    assert check(4, defects=(deferred(), defect(id="other"))).outcome == OPEN


def test_an_unanswered_occurrence_fails_check_4() -> None:
    made = check(4, occurrences=(occurrence(),))
    assert made.outcome == OPEN
    assert made.open[0].startswith("Heavy landing on 2026-05-10 (bounced twice): no unscheduled inspection")


@pytest.mark.parametrize(
    ("number", "changes"),
    [
        (3, {"tasks": ()}),
        (5, {"directives": ()}),
        (7, {"tasks": (), "components": ()}),
        (7, {"tasks": ()}),
        (8, {"work": (), "closed": ()}),
        (8, {"work": (), "closed": (replace(CLOSED, work_done=""),)}),
        (9, {"papers": ()}),
        (11, {"papers": ()}),
    ],
)
def test_where_nothing_is_recorded_it_is_said_plainly(number: int, changes: dict[str, Any]) -> None:
    made = check(number, **changes)
    assert made.outcome == NOT_IN
    assert made.notes[0].endswith((": show it, or that none is required.", "from where the limits come.")) or (
        "recorded" in made.notes[0]
    )


def test_inside_its_tolerance_is_noted_and_not_open() -> None:
    made = check(3, tasks=(task(limited(1_999, tolerance=10)),))
    assert made.outcome == EVIDENCE
    assert made.notes == (
        "task-1 (Inspection): inside its tolerance, at 1999 launches; with its tolerance at 2009 launches.",
    )
    assert made.tables[0].rows[0][2:] == ("2026-03-01 by Invented Person", made.notes[0][43:-1], "in tolerance")


def test_a_directive_that_does_not_apply_is_evidence_with_its_reason() -> None:
    made = check(5, directives=(replace(DIRECTIVE, decision="not_applicable", limits=None, last=None),))
    assert made.outcome == EVIDENCE
    assert made.tables[0].rows[0][2:] == ("not applicable: By serial number (Invented Person, 2025-01-02)", "", "")


def test_what_was_taken_over_is_not_certified_here() -> None:
    made = check(8, work=(replace(WORK, signed_by=""),), closed=())
    assert (made.outcome, made.notes) == (NOT_IN, ("What was taken over is signed in earlier records: show them.",))
    assert made.tables[0].rows[0][-1] == "not signed here: taken over"


def test_the_paper_that_reaches_furthest_counts() -> None:
    old = paper("noise_certificate", TODAY - timedelta(days=1))
    assert check(11, papers=(old, paper("noise_certificate", TODAY))).outcome == EVIDENCE
    assert check(11, papers=(paper("noise_certificate"), old)).outcome == EVIDENCE


def test_lives_and_totals_are_told_with_their_units() -> None:
    overhauled = replace(COMPONENT, overhauled_on=date(2026, 1, 1), since_overhaul={Dimension.AIRFRAME_MINUTES: 90})
    made = check(1, components=(overhauled,))
    assert made.tables[0].rows == (("Flight time", "1000:00 h of flight"), ("Number of launches", "2000 launches"))
    assert made.tables[1].rows[0][2:] == ("1000:00 h of flight, 2000 launches", "2026-01-01: 1:30 h of flight")


@pytest.mark.parametrize("number", range(1, 12))
def test_a_check_that_cannot_be_made_is_open(number: int) -> None:
    broken = known(totals=TOTALS, today=None, papers=None, tasks=None, directives=None, components=None, work=None,
                   closed=None, defects=None, missing_positions=None)  # fmt: skip
    made = review(broken)[number - 1]
    assert made.outcome == OPEN
    assert "could not be made" in made.open[0]
    assert made.error


def test_more_adverse_facts_never_open_less() -> None:
    adverse: list[tuple[int, dict[str, Any]]] = [
        (4, {"defects": (defect(),)}),
        (3, {"tasks": (task(limited(1_999)),)}),
        (7, {"tasks": (task(limited(1_999)), task(limited(2_000, life_limit=True)))}),
        (10, {"missing_positions": (MissingPosition(id="x", title="Nose"),)}),
        (5, {"directives": (replace(DIRECTIVE, decision=None),)}),
    ]
    so_far: dict[str, Any] = {}
    for count, (number, changes) in enumerate(adverse, start=1):
        so_far |= changes
        opened = {one.number for one in review(known(**so_far)) if one.outcome == OPEN}
        assert opened == {each for each, _ in adverse[:count]}, number
