"""Assessed defects that nobody has deferred or rectified yet."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from fleet.airworthiness.facts import DefectFact, Facts
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules.defects import accepted_by_pilot
from fleet.airworthiness.sentences import about, days, named
from fleet.airworthiness.verdict import Effect, Reason

AFTER_TRIAGE = frozenset({"assessed", "deferred"})


def _decision_ends(assessed_at: datetime, facts: Facts) -> datetime:
    # Whole days of 24 h from the assessment, as with triage.
    return assessed_at + timedelta(days=facts.policy.decision_limit_days)


def _waits_for_decision(defect: DefectFact) -> bool:
    on_other_item = defect.item is not None and not defect.item.critical
    return defect.state == "assessed" and defect.assessment == "no_hazard" and on_other_item


def _undecided(defect: DefectFact, assessed_at: datetime, facts: Facts, now: datetime) -> Reason:
    cure = "Have it deferred with a limit, or rectified and released to service."
    if now >= _decision_ends(assessed_at, facts):
        limit = days(facts.policy.decision_limit_days)
        return ASSESSED_DEFECT.grounds(
            about(defect),
            message=f"{named(defect)} was neither deferred nor rectified within {limit} of its assessment.",
            cure=cure,
        )
    return ASSESSED_DEFECT.reason(
        Effect.LIMITS,
        about(defect),
        message=f"{named(defect)} was assessed as no hazard, and is neither deferred nor rectified yet.",
        cure=cure,
        limitations=accepted_by_pilot(defect),
    )


def _assessed_defect(facts: Facts, now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if defect.state in AFTER_TRIAGE and (defect.assessment is None or defect.assessed_at is None):
            yield ASSESSED_DEFECT.grounds(
                about(defect),
                message=f"{named(defect)} counts as {defect.state}, but its assessment is not on record.",
                cure="Have a technical officer or an inspector triage it again.",
            )
        elif defect.assessed_at is not None and _waits_for_decision(defect):
            yield _undecided(defect, defect.assessed_at, facts, now)


def _turns(facts: Facts) -> list[datetime]:
    waiting = [defect.assessed_at for defect in facts.defects if _waits_for_decision(defect)]
    return [_decision_ends(assessed_at, facts) for assessed_at in waiting if assessed_at is not None]


ASSESSED_DEFECT = Rule(
    code="assessed_defect",
    title="Assessed defect neither deferred nor rectified",
    effects=(Effect.GROUNDS, Effect.LIMITS),
    citation="ML.A.403(b), ML.A.403(c)",
    judge=_assessed_defect,
    turns=_turns,
)
