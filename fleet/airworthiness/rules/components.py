"""Installed components: their lives, and positions that are empty."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.continuing_facts import ContinuingFacts
from fleet.airworthiness.due.state import State
from fleet.airworthiness.due.turning import due_ends_at
from fleet.airworthiness.due_sentences import due_in_words, task_named
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.rules.programme import by_calendar, in_state
from fleet.airworthiness.verdict import Effect, Reason


def _life_limit_reached(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    for fact in in_state(facts, now, State.OVERDUE):
        if fact.life_limit:
            yield LIFE_LIMIT_REACHED.grounds(
                (fact.subject_type, fact.subject_id),
                message=f"{task_named(fact)}: its life limit is reached, {due_in_words(fact.limits)}.",
                cure="Have it replaced, or its life restored by the maintenance that its maker allows, and record it.",
            )


def _turns(facts: ContinuingFacts) -> list[datetime]:
    return [due_ends_at(limit, facts.policy.time_zone) for fact, limit in by_calendar(facts) if fact.life_limit]


LIFE_LIMIT_REACHED = Rule(
    code="life_limit_reached",
    title="Life limit of an installed component reached",
    effects=(Effect.GROUNDS,),
    citation="ML.A.503",
    judge=_life_limit_reached,  # type: ignore[arg-type]
    turns=_turns,  # type: ignore[arg-type]
)


def _component_missing(facts: ContinuingFacts, _now: datetime) -> Iterator[Reason]:
    for position in facts.missing_positions:
        yield COMPONENT_MISSING.grounds(
            ("position", position.id),
            message=f"{position.title}: no component is installed at this position, although it must not be empty.",
            cure="Have a serviceable component installed, and record it.",
        )


COMPONENT_MISSING = Rule(
    code="component_missing",
    title="Required position without a component",
    effects=(Effect.GROUNDS,),
    citation="ML.A.201(a), ML.A.902(b)",
    judge=_component_missing,  # type: ignore[arg-type]
    turns=never,
)
