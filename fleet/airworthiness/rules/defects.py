"""Open defects: what they touch, and how long they may wait for somebody to decide."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from fleet.airworthiness.facts import DefectFact, Facts
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.sentences import about, days, named, one_line
from fleet.airworthiness.verdict import Effect, Reason

STATES = frozenset({"reported", "assessed", "deferred", "rectified"})
ASSESSMENTS = frozenset({"hazard", "no_hazard"})


def accepted_by_pilot(defect: DefectFact) -> tuple[str, ...]:
    """The limitation under which an aircraft flies with a defect that nobody has decided about yet."""
    name = f"defect {defect.number} ({one_line(defect.description)})"
    return (f"pilot in command to accept the named defect before flight: {name}",)


def _critical_item_defect(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if defect.item is not None and defect.item.critical:
            yield CRITICAL_ITEM_DEFECT.grounds(
                about(defect),
                message=f"{named(defect)} is open on a critical item, {defect.item.title}.",
                cure="Have it rectified, independently inspected and released to service, or have an inspector decide"
                " that it is no defect or belongs to an item that is not critical.",
            )


CRITICAL_ITEM_DEFECT = Rule(
    code="critical_item_defect",
    title="Open defect on a critical item",
    effects=(Effect.GROUNDS,),
    citation="ML.A.403(a)",
    judge=_critical_item_defect,
    turns=never,
)


def _unclassified_defect(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if defect.item is None:
            yield UNCLASSIFIED_DEFECT.grounds(
                about(defect),
                message=f"{named(defect)} is not assigned to an item yet, so it may touch a critical one.",
                cure="Have a technical officer or an inspector name the item it touches.",
            )


UNCLASSIFIED_DEFECT = Rule(
    code="unclassified_defect",
    title="Open defect without an item",
    effects=(Effect.GROUNDS,),
    citation="ML.A.403(a), club practice",
    judge=_unclassified_defect,
    turns=never,
)


def _hazard_assessed(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if defect.assessment == "hazard":
            yield HAZARD_ASSESSED.grounds(
                about(defect),
                message=f"{named(defect)} was assessed as a hazard to flight safety.",
                cure="Have it rectified and released to service.",
            )


HAZARD_ASSESSED = Rule(
    code="hazard_assessed",
    title="Defect assessed as a hazard to flight safety",
    effects=(Effect.GROUNDS,),
    citation="ML.A.403(a)",
    judge=_hazard_assessed,
    turns=never,
)


def _triage_ends(defect: DefectFact, facts: Facts) -> datetime:
    # Whole days of 24 h from the report, whatever the clock on the wall did meanwhile.
    return defect.reported_at + timedelta(days=facts.policy.triage_limit_days)


def _is_contradictory(defect: DefectFact) -> bool:
    if defect.state not in STATES:
        return True
    if defect.assessment is None:
        return False
    return defect.state == "reported" or defect.assessment not in ASSESSMENTS


def _untriaged(defect: DefectFact, facts: Facts, now: datetime) -> Reason:
    cure = "Have a technical officer or an inspector triage it."
    if now >= _triage_ends(defect, facts):
        limit = days(facts.policy.triage_limit_days)
        return UNTRIAGED_DEFECT.grounds(
            about(defect), message=f"{named(defect)} was not triaged within {limit} of its report.", cure=cure
        )
    return UNTRIAGED_DEFECT.reason(
        Effect.LIMITS,
        about(defect),
        message=f"{named(defect)} waits for triage.",
        cure=cure,
        limitations=accepted_by_pilot(defect),
    )


def _untriaged_defect(facts: Facts, now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if _is_contradictory(defect):
            yield UNTRIAGED_DEFECT.grounds(
                about(defect),
                message=f"{named(defect)} has a record that contradicts itself, so its triage does not count.",
                cure="Have a technical officer or an inspector triage it again.",
            )
        elif defect.state == "reported" and defect.item is not None and not defect.item.critical:
            yield _untriaged(defect, facts, now)


UNTRIAGED_DEFECT = Rule(
    code="untriaged_defect",
    title="Defect waiting for triage",
    effects=(Effect.GROUNDS, Effect.LIMITS),
    citation="ML.A.403(b), club practice",
    judge=_untriaged_defect,
    turns=lambda facts: [_triage_ends(defect, facts) for defect in facts.defects if defect.state == "reported"],
)
