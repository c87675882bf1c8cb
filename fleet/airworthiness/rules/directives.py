"""Airworthiness directives and mandatory bulletins. None has a tolerance."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.continuing_facts import ContinuingFacts
from fleet.airworthiness.due.state import State
from fleet.airworthiness.due.turning import turns
from fleet.airworthiness.due_facts import DirectiveFact
from fleet.airworthiness.due_sentences import due_in_words
from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.verdict import Effect, Reason

DECISIONS = frozenset({"applicable", "not_applicable"})


def _named(directive: DirectiveFact) -> str:
    return f"Directive {directive.reference} ({directive.title})"


def _judged(directive: DirectiveFact, state: State) -> Reason | None:
    subject = ("directive", directive.id)
    if state is State.OK:
        return None
    if directive.limits is None or state is State.UNKNOWN:
        return DIRECTIVE_OVERDUE.grounds(
            subject,
            message=f"{_named(directive)}: it applies, and it is not known when it must be complied with.",
            cure="Record its limits and the last compliance with its readings, and the usage.",
        )
    due = due_in_words(directive.limits)
    if state is State.DUE_SOON:
        return DIRECTIVE_OVERDUE.reason(
            Effect.ADVISES,
            subject,
            message=f"{_named(directive)}: due soon, {due}.",
            cure="Plan the compliance, have it done and record it.",
        )
    return DIRECTIVE_OVERDUE.grounds(
        subject,
        message=f"{_named(directive)}: overdue, it was to be complied with {due}.",
        cure="Have it complied with and released to service, and record the compliance.",
    )


def _directive_overdue(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    today = flying_day(now, facts.policy.time_zone)
    for directive in facts.directives:
        if directive.decision == "applicable" and (reason := _judged(directive, directive.state(today))) is not None:
            yield reason


def _turns(facts: ContinuingFacts) -> Iterator[datetime]:
    for directive in facts.directives:
        if directive.decision == "applicable" and directive.limits is not None:
            yield from turns(directive.limits, facts.policy.time_zone)


DIRECTIVE_OVERDUE = Rule(
    code="directive_overdue",
    title="Applicable directive past its limit, or due soon",
    effects=(Effect.GROUNDS, Effect.ADVISES),
    citation="ML.A.303",
    judge=_directive_overdue,  # type: ignore[arg-type]
    turns=_turns,  # type: ignore[arg-type]
)


def _directive_unassessed(facts: ContinuingFacts, _now: datetime) -> Iterator[Reason]:
    for directive in facts.directives:
        if directive.decision not in DECISIONS:
            yield DIRECTIVE_UNASSESSED.grounds(
                ("directive", directive.id),
                message=f"{_named(directive)}: nobody has decided yet whether it applies to this aircraft.",
                cure="Have a technical officer or an inspector decide whether it applies, and record why.",
            )


DIRECTIVE_UNASSESSED = Rule(
    code="directive_unassessed",
    title="Directive that nobody has assessed",
    effects=(Effect.GROUNDS,),
    citation="ML.A.303, ML.A.305(d)",
    judge=_directive_unassessed,  # type: ignore[arg-type]
    turns=never,
)
