"""Check 5: directives."""

from datetime import date

from fleet.airworthiness.due.state import State, state
from fleet.airworthiness.due_sentences import due_in_words
from fleet.airworthiness.review.check import Found, Table, day, tables
from fleet.airworthiness.review.known import DirectiveKnown, Known
from fleet.airworthiness.review.programme import WANTING, done_in_words
from fleet.airworthiness.sentences import words

_INCOMPLETE = (
    "Whether every directive is recorded here, the service cannot know: compare with the lists of the authorities."
)


def _named(one: DirectiveKnown) -> str:
    return f"{one.reference} ({one.title})" + (f" on {one.component}" if one.component else "")


def _state(one: DirectiveKnown, known: Known) -> State:
    return State.UNKNOWN if one.limits is None else state(one.limits, known.totals or {}, known.today)


def _due(one: DirectiveKnown) -> str:
    if one.limits is None:
        return "not known"
    return "once, and done" if one.limits.finished else due_in_words(one.limits) or "not known"


def _wanting(one: DirectiveKnown, known: Known) -> str | None:
    if one.decision is None:
        return f"{_named(one)}: nobody has decided whether it applies. Decide and record why."
    if one.decision == "not_applicable":
        return None
    if one.limits is None:
        return f"{_named(one)}: it applies, and no task says what it demands. Add the task and record its compliance."
    if _state(one, known) in WANTING:
        return (
            f"{_named(one)}: not shown to be complied with, due {_due(one)}. Have it done and released, and record it."
        )
    return None


def _row(one: DirectiveKnown, known: Known) -> tuple[str, ...]:
    applies = one.decision == "applicable"
    decided = f"{words(one.decision)}: {one.decided}" if one.decision else "not assessed"
    done = f"{done_in_words(one.last)}: {one.last.method}" if one.last else ("not recorded" if applies else "")
    due = f"{_due(one)} ({words(_state(one, known))})" if applies else ""
    return f"{_named(one)}, {one.issuer}", day(one.effective_on), decided, done, due


def _order(one: DirectiveKnown) -> tuple[date, str, str]:
    return one.effective_on, one.reference, one.component


def applied(known: Known) -> Found:
    """Applicable directives are complied with and recorded. None has a tolerance (ML.A.303)."""
    listed = sorted(known.directives, key=_order)
    table = Table(
        title="Directives in force that may concern the aircraft or what is in it",
        columns=("Directive", "Effective", "Applies", "Complied with", "Due"),
        rows=tuple(_row(one, known) for one in listed),
    )
    wanting = [_wanting(one, known) for one in listed]
    nothing = () if listed else ("No directive is recorded that may concern the aircraft or what is in it.",)
    return Found(
        open=tuple(one for one in wanting if one is not None),
        notes=(*nothing, _INCOMPLETE),
        tables=tables(table),
        evidence=bool(listed),
    )
