"""Deferred defects: while the deferral holds, and once it does not."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.facts import DefectFact, DeferralFact, Facts, UsageFact
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.sentences import about, hours, named
from fleet.airworthiness.verdict import Effect, Reason

_DECIDE = "Have it rectified and released to service, or deferred anew within what the rules allow."


def limit_in_words(deferral: DeferralFact) -> str:
    """All limits of a deferral: ``to the end of 2026-05-10, or at 120:00 h of the airframe``."""
    limits = []
    if deferral.until_date is not None:
        limits.append(f"to the end of {deferral.until_date.isoformat()}")
    elif deferral.until_at is not None:
        limits.append(f"until {deferral.until_at.isoformat()}")
    if deferral.until_minutes is not None:
        limits.append(f"until the airframe has {hours(deferral.until_minutes)}")
    if deferral.until_launches is not None:
        limits.append(f"until the airframe has {deferral.until_launches} launches")
    return ", or ".join(limits)


def _has_readable_limit(deferral: DeferralFact) -> bool:
    if deferral.until_date is not None and deferral.until_at is None:
        return False
    return (deferral.until_at, deferral.until_minutes, deferral.until_launches) != (None, None, None)


def _needs_usage(deferral: DeferralFact) -> bool:
    return deferral.until_minutes is not None or deferral.until_launches is not None


def _is_used_up(deferral: DeferralFact, usage: UsageFact) -> bool:
    by_hours = deferral.until_minutes is not None and usage.airframe_minutes >= deferral.until_minutes
    by_launches = deferral.until_launches is not None and usage.launches >= deferral.until_launches
    return by_hours or by_launches


def limit_passed(deferral: DeferralFact, usage: UsageFact | None, now: datetime) -> bool:
    """Whether a limit is known to be reached; a limit in hours or launches is not while the usage is unknown."""
    by_date = deferral.until_at is not None and now >= deferral.until_at
    return by_date or (usage is not None and _is_used_up(deferral, usage))


def _flaw_of_terms(deferral: DeferralFact, facts: Facts, now: datetime) -> tuple[str, str] | None:
    """Why a deferral in force does not hold, and the cure."""
    if not _has_readable_limit(deferral):
        return "is deferred without a limit that can be checked", _DECIDE
    if limit_passed(deferral, facts.usage, now):
        return f"was deferred {limit_in_words(deferral)}, and that limit has passed", _DECIDE
    if facts.usage is None and _needs_usage(deferral):
        finding = f"is deferred {limit_in_words(deferral)}, but the usage of the aircraft is not known"
        return finding, "Record the usage of the aircraft."
    return None


def _flaw_of_deferred(defect: DefectFact) -> tuple[str, str] | None:
    """Why a defect in state ``deferred`` is not validly deferred, whatever the limits."""
    if defect.state != "deferred":
        return None
    if defect.deferral is None:
        return "counts as deferred, but no deferral is recorded", _DECIDE
    if not defect.deferral.in_force:
        return "counts as deferred, but its deferral is not in force", _DECIDE
    if defect.item is not None and not defect.item.deferrable:
        return f"is deferred, but {defect.item.title} may not be deferred", "Have it rectified and released to service."
    return None


def _flaw(defect: DefectFact, facts: Facts, now: datetime) -> tuple[str, str] | None:
    """What the matter is with a defect's deferral, and the cure; None while it holds or there never was one."""
    deferral = defect.deferral
    if deferral is None or not deferral.in_force:
        if deferral is not None and deferral.ended_expired:
            return f"was deferred {limit_in_words(deferral)}, and that limit has passed", _DECIDE
        return _flaw_of_deferred(defect)
    if defect.state != "deferred":
        return "has a deferral in force, but does not count as deferred", _DECIDE
    return _flaw_of_terms(deferral, facts, now) or _flaw_of_deferred(defect)


def _deferral_running(facts: Facts, now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        if defect.deferral is None or not defect.deferral.in_force or _flaw(defect, facts, now) is not None:
            continue
        yield DEFERRAL_RUNNING.reason(
            Effect.LIMITS,
            about(defect),
            message=f"{named(defect)} is deferred {limit_in_words(defect.deferral)}.",
            cure="Have it rectified and released to service; it may be flown with until then, inside the limitations.",
            limitations=defect.deferral.limitations,
        )


def _deferral_expired(facts: Facts, now: datetime) -> Iterator[Reason]:
    for defect in facts.defects:
        flaw = _flaw(defect, facts, now)
        if flaw is not None:
            finding, cure = flaw
            yield DEFERRAL_EXPIRED.grounds(about(defect), message=f"{named(defect)} {finding}.", cure=cure)


def _turns(facts: Facts) -> list[datetime]:
    running = [defect.deferral for defect in facts.defects if defect.deferral is not None and defect.deferral.in_force]
    return [deferral.until_at for deferral in running if deferral.until_at is not None]


DEFERRAL_RUNNING = Rule(
    code="deferral_running",
    title="Deferred defect within its limits",
    effects=(Effect.LIMITS,),
    citation="ML.A.403(b), ML.A.403(c)",
    judge=_deferral_running,
    turns=_turns,
)

DEFERRAL_EXPIRED = Rule(
    code="deferral_expired",
    title="Deferral past its limit, or not valid",
    effects=(Effect.GROUNDS,),
    citation="ML.A.403(c)",
    judge=_deferral_expired,
    turns=_turns,
)
