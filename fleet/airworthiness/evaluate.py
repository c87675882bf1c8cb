"""Runs every rule over the facts and puts the answer together."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from typing import ParamSpec, TypeVar

from fleet.airworthiness import next_due, ready
from fleet.airworthiness.facts import Facts
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules import RULES
from fleet.airworthiness.rules.unevaluated import rule_error
from fleet.airworthiness.verdict import Effect, Reason, Status, Verdict

P = ParamSpec("P")
T = TypeVar("T")

STATUS_OF_EFFECT = {
    Effect.GROUNDS: Status.GROUNDED,
    Effect.LIMITS: Status.LIMITED,
    Effect.ADVISES: Status.SERVICEABLE,
}
A_MOMENT = timedelta(microseconds=1)


def evaluate(facts: Facts, now: datetime, rules: tuple[Rule, ...] = RULES) -> Verdict:
    """The verdict at an aware instant. Never stops early; whatever raises grounds and is named in ``errors``.

    A verdict with errors holds for a moment only, so that the next look judges again. Equal input gives equal
    output, in whatever order the facts come. Raises ValueError for a naive instant.
    """
    if now.utcoffset() is None:
        raise ValueError("The instant of an evaluation has no time zone: give one with an offset.")
    run = _Run(facts, now)
    for rule in rules:
        run.apply(rule)
    due = run.attempt("next_due", "The next date due", next_due.next_due, facts, now)
    is_ready = run.attempt("ready_today", "The daily inspection", ready.ready_today, facts, now)
    for turns in (next_due.turns, ready.turns):
        run.attempt("turns", "The time until which this answer holds", run.look_ahead, turns)
    reasons = _ordered(run.reasons, rules)
    return Verdict(
        status=max((STATUS_OF_EFFECT[reason.effect] for reason in reasons), default=Status.SERVICEABLE),
        ready_today=is_ready is True,
        reasons=reasons,
        limitations=tuple(dict.fromkeys(text for reason in reasons for text in reason.limitations)),
        open_defects=len(facts.defects),
        next_due=due,
        valid_until=run.valid_until(),
        errors=tuple(run.errors),
    )


def unassessable(aircraft_id: str, now: datetime, error: Exception) -> Verdict:
    """The verdict when the facts could not even be gathered: grounded until somebody looks again.

    ``open_defects`` is 0 because the number is not known.
    """
    return Verdict(
        status=Status.GROUNDED,
        ready_today=False,
        reasons=(rule_error(aircraft_id, "The record of the aircraft"),),
        limitations=(),
        open_defects=0,
        next_due=None,
        valid_until=now + A_MOMENT,
        errors=(_described("facts", error),),
    )


class _Run:
    """One evaluation: what it has found so far."""

    def __init__(self, facts: Facts, now: datetime) -> None:
        self.facts = facts
        self.now = now
        self.reasons: list[Reason] = []
        self.turns: list[datetime] = []
        self.errors: list[str] = []

    def apply(self, rule: Rule) -> None:
        what = f"The rule “{rule.title}”"
        self.attempt(rule.code, what, self.judge, rule)
        self.attempt(rule.code, what, self.look_ahead, rule.turns)

    def judge(self, rule: Rule) -> None:
        for reason in rule.judge(self.facts, self.now):  # one by one: what came before an error is kept
            self.reasons.append(reason)

    def look_ahead(self, turns: Callable[[Facts], Iterable[datetime]]) -> None:
        self.turns += [instant.astimezone(UTC) for instant in turns(self.facts) if instant > self.now]

    def attempt(self, code: str, what: str, act: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T | None:
        """The result of the act; if it raises, a reason that grounds and an entry in the errors."""
        try:
            return act(*args, **kwargs)
        except Exception as error:  # noqa: BLE001 - whatever it is, it must neither pass as fine nor hide the other rules
            self.errors.append(_described(code, error))
            reason = rule_error(self.facts.aircraft_id, what)
            if reason not in self.reasons:
                self.reasons.append(reason)
            return None

    def valid_until(self) -> datetime | None:
        if self.errors:
            return self.now + A_MOMENT
        return min(self.turns, default=None)


def _described(code: str, error: Exception) -> str:
    return f"{code}: {type(error).__name__}: {error}"


def _ordered(reasons: list[Reason], rules: tuple[Rule, ...]) -> tuple[Reason, ...]:
    """Worst effect first, then as the table has the rules, then by subject; the rest only makes it unambiguous."""
    position = {rule.code: index for index, rule in enumerate(rules)}

    def key(reason: Reason) -> tuple[int, int, str, str, tuple[str, ...], str, str]:
        index = position.get(reason.rule, len(rules))
        rest = (reason.message, reason.limitations, reason.subject_type, reason.cure)
        return -reason.effect, index, reason.subject_id, *rest

    return tuple(sorted(reasons, key=key))
