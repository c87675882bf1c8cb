"""Tasks of the maintenance programme that are due."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.continuing_facts import ContinuingFacts
from fleet.airworthiness.due.limit import CalendarLimit
from fleet.airworthiness.due.state import State
from fleet.airworthiness.due.turning import due_ends_at, notice_opens_at, tolerance_ends_at
from fleet.airworthiness.due_facts import DueFact
from fleet.airworthiness.due_sentences import due_in_words, hard_in_words, names_in_words, task_named
from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.rule import Rule, Subject
from fleet.airworthiness.verdict import Effect, Reason


def in_state(facts: ContinuingFacts, now: datetime, wanted: State) -> Iterator[DueFact]:
    """Due items in one state on the flying day of ``now``."""
    today = flying_day(now, facts.policy.time_zone)
    return (fact for fact in facts.due if fact.state(today) is wanted)


def by_calendar(facts: ContinuingFacts) -> Iterator[tuple[DueFact, CalendarLimit]]:
    """Due items that time alone can change."""
    for fact in facts.due:
        if fact.limits.calendar is not None:
            yield fact, fact.limits.calendar


def _about(fact: DueFact) -> Subject:
    return "task", fact.task_id


def _effect(fact: DueFact) -> Effect:
    # Advisory work never grounds, and it would be odd to fall silent just when it is overdue.
    return Effect.GROUNDS if fact.grounding else Effect.ADVISES


def _task_overdue(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    for fact in in_state(facts, now, State.OVERDUE):
        if fact.life_limit:
            continue  # told by life_limit_reached
        due, hard = due_in_words(fact.limits), hard_in_words(fact.limits)
        with_tolerance = "" if due == hard else f"; with its tolerance {hard}"
        yield TASK_OVERDUE.reason(
            _effect(fact),
            _about(fact),
            message=f"{task_named(fact)}: overdue, it was due {due}{with_tolerance}.",
            cure="Have it done, and record it with its date and readings.",
        )


TASK_OVERDUE = Rule(
    code="task_overdue",
    title="Task beyond its limit and tolerance",
    effects=(Effect.GROUNDS, Effect.ADVISES),
    citation="ML.A.201(a), ML.A.302(d)",
    judge=_task_overdue,  # type: ignore[arg-type]
    turns=lambda facts: [tolerance_ends_at(limit, facts.policy.time_zone) for _fact, limit in by_calendar(facts)],  # type: ignore[arg-type]
)


def _task_in_tolerance(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    for fact in in_state(facts, now, State.IN_TOLERANCE):
        yield TASK_IN_TOLERANCE.reason(
            Effect.ADVISES,
            _about(fact),
            message=f"{task_named(fact)}: inside its tolerance, it was due {due_in_words(fact.limits)};"
            f" with its tolerance {hard_in_words(fact.limits)}.",
            cure="Have it done before the tolerance ends, and record it with its date and readings.",
        )


def _turns_of_tolerance(facts: ContinuingFacts) -> Iterator[datetime]:
    for _fact, limit in by_calendar(facts):
        yield due_ends_at(limit, facts.policy.time_zone)
        yield tolerance_ends_at(limit, facts.policy.time_zone)


TASK_IN_TOLERANCE = Rule(
    code="task_in_tolerance",
    title="Task beyond its limit, inside its tolerance",
    effects=(Effect.ADVISES,),
    citation="ML.A.302(d)(1)",
    judge=_task_in_tolerance,  # type: ignore[arg-type]
    turns=_turns_of_tolerance,  # type: ignore[arg-type]
)


def _task_due_soon(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    for fact in in_state(facts, now, State.DUE_SOON):
        yield TASK_DUE_SOON.reason(
            Effect.ADVISES,
            _about(fact),
            message=f"{task_named(fact)}: due soon, {due_in_words(fact.limits)}.",
            cure="Plan it, have it done, and record it with its date and readings.",
        )


def _turns_of_notice(facts: ContinuingFacts) -> Iterator[datetime]:
    for _fact, limit in by_calendar(facts):
        yield notice_opens_at(limit, facts.policy.time_zone)
        yield due_ends_at(limit, facts.policy.time_zone)


TASK_DUE_SOON = Rule(
    code="task_due_soon",
    title="Task due soon",
    effects=(Effect.ADVISES,),
    citation="AMC M.A.301(a), club practice",
    judge=_task_due_soon,  # type: ignore[arg-type]
    turns=_turns_of_notice,  # type: ignore[arg-type]
)


def _what_is_unknown(fact: DueFact) -> tuple[str, str]:
    """What is missing for a due item in state unknown, and the cure."""
    if fact.known and fact.unsigned():
        missing = names_in_words(fact.unsigned())
        return f"the {missing} it counts from is not recorded", "Record the readings at which it was last done."
    if fact.known and fact.unread():
        return f"the present {names_in_words(fact.unread())} is not known", "Record the usage."
    return "nothing is recorded from which to count", "Record when it was last done, or have it done and record it."


def _task_unknown(facts: ContinuingFacts, now: datetime) -> Iterator[Reason]:
    for fact in in_state(facts, now, State.UNKNOWN):
        finding, cure = _what_is_unknown(fact)
        yield TASK_UNKNOWN.reason(_effect(fact), _about(fact), message=f"{task_named(fact)}: {finding}.", cure=cure)


TASK_UNKNOWN = Rule(
    code="task_unknown",
    title="Task of which nobody can tell when it is due",
    effects=(Effect.GROUNDS, Effect.ADVISES),
    citation="ML.A.305(d), ML.A.504(a)",
    judge=_task_unknown,  # type: ignore[arg-type]
    turns=TASK_OVERDUE.turns,  # what is known of it may end as overdue
)
