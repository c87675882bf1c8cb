"""Checks 3 and 7: maintenance that is due, and life-limited components."""

from collections.abc import Iterator, Sequence

from fleet.airworthiness.due.state import State
from fleet.airworthiness.due_sentences import due_in_words, hard_in_words, names_in_words, task_named
from fleet.airworthiness.review.check import Found, Table, day, tables
from fleet.airworthiness.review.known import ComponentKnown, Known, LastDone, TaskKnown
from fleet.airworthiness.sentences import words

WANTING = frozenset({State.OVERDUE, State.UNKNOWN})


def done_in_words(last: LastDone | None) -> str:
    """When and by whom; what was taken over says so."""
    if last is None:
        return "not recorded"
    taken_over = ", taken over from earlier records" if last.taken_over else ""
    return f"{day(last.on)} by {last.by}{taken_over}"


def _named(task: TaskKnown) -> str:
    advisory = "" if task.fact.grounding else ", advisory"
    return f"{task.code} ({task_named(task.fact)}{advisory})"


def _due(task: TaskKnown) -> str:
    limits = task.fact.limits
    if limits.finished:
        return "once, and done"
    due, hard = due_in_words(limits), hard_in_words(limits)
    unknown = f"not known by {names_in_words(limits.unknown)}" if limits.unknown else ""
    with_tolerance = "" if due == hard else f"; with its tolerance {hard}"
    return "; ".join(part for part in (f"{due}{with_tolerance}", unknown) if part) or "not known"


def _wanting(task: TaskKnown, state: State) -> str:
    if state is State.OVERDUE:
        return f"{_named(task)}: overdue, it was due {_due(task)}. Have it done and released, and record it."
    return f"{_named(task)}: it is not known when it is due. Record its last compliance with date and readings, and the usage."


def _judged(tasks: Sequence[TaskKnown], known: Known) -> list[tuple[TaskKnown, State]]:
    return [(task, task.fact.state(known.today)) for task in tasks]


def _table(title: str, judged: Sequence[tuple[TaskKnown, State]]) -> Table:
    return Table(
        title=title,
        columns=("Task", "Basis", "Last done", "Due", "State"),
        rows=tuple(
            (_named(task), task.basis, done_in_words(task.last), _due(task), words(state)) for task, state in judged
        ),
    )


def maintenance_due(known: Known) -> Found:
    """Tasks of the programme that are no life limits; what a directive demands is check 5."""
    judged = _judged([task for task in known.tasks if not task.fact.life_limit], known)
    tolerated = [task for task, state in judged if state is State.IN_TOLERANCE]
    nothing = (
        () if judged else ("No task of a maintenance programme is recorded for this aircraft: show the programme.",)
    )
    return Found(
        open=tuple(_wanting(task, state) for task, state in judged if state in WANTING),
        notes=(*nothing, *(f"{_named(task)}: inside its tolerance, {_due(task)}." for task in tolerated)),
        tables=tables(_table("Programme", judged)),
        evidence=bool(judged),
    )


def _unfit(component: ComponentKnown) -> Iterator[str]:
    if not component.serviceable:
        yield f"{component.name} is {component.condition}, and installed. Replace it."
    if not component.history_known:
        yield f"{component.name}: its history is not known, so it counts as unserviceable. Replace it."


def _component(one: ComponentKnown) -> tuple[str, ...]:
    return one.name, one.position, day(one.installed_on), one.condition, one.release_document or "none recorded"


def life_limits(known: Known) -> Found:
    """Life limits have no tolerance. A component without a recorded limit is told, not judged."""
    judged = _judged([task for task in known.tasks if task.fact.life_limit], known)
    installed = Table(
        title="Installed components",
        columns=("Component", "Position", "Installed", "Condition", "Release document"),
        rows=tuple(map(_component, known.components)),
    )
    notes = () if judged else ("No life limit of an installed component is recorded: show from where the limits come.",)
    unfit = [sentence for one in known.components for sentence in _unfit(one)]
    return Found(
        open=(*(_wanting(task, state) for task, state in judged if state in WANTING), *unfit),
        notes=notes,
        tables=tables(_table("Life limits", judged), installed),
        evidence=bool(judged),
    )
