"""Work that was done and is not signed off."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.facts import DefectFact, Facts
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.sentences import about, named
from fleet.airworthiness.verdict import Effect, Reason


def _is_unreleased(defect: DefectFact) -> bool:
    return defect.work_unreleased or defect.state == "rectified"


def _rectification_unreleased(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if _is_unreleased(defect):
            yield RECTIFICATION_UNRELEASED.grounds(
                about(defect),
                message=f"{named(defect)} was worked on, and the work is not released to service.",
                cure="Have an inspector whose authorisation covers the work release it to service.",
            )


RECTIFICATION_UNRELEASED = Rule(
    code="rectification_unreleased",
    title="Work not released to service",
    effects=(Effect.GROUNDS,),
    citation="ML.A.801(a)",
    judge=_rectification_unreleased,
    turns=never,
)


def _independent_inspection_missing(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        may_be_critical = defect.item is None or defect.item.critical
        if not (_is_unreleased(defect) and may_be_critical) or defect.independent_inspection == "accepted":
            continue
        outcome = "did not accept it" if defect.independent_inspection == "rejected" else "has not checked it yet"
        yield INDEPENDENT_INSPECTION_MISSING.grounds(
            about(defect),
            message=f"{named(defect)} was worked on, and a second competent person {outcome}.",
            cure="Have somebody competent who did not do the work inspect it independently, after any work that is"
            " still to do.",
        )


INDEPENDENT_INSPECTION_MISSING = Rule(
    code="independent_inspection_missing",
    title="Critical item worked on without an independent inspection",
    effects=(Effect.GROUNDS,),
    citation="ML.A.402(b), AMC 145.A.48(b)",
    judge=_independent_inspection_missing,
    turns=never,
)
