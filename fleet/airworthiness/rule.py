"""What a rule is."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from fleet.airworthiness.facts import Facts
from fleet.airworthiness.verdict import Effect, Reason

Subject = tuple[str, str]  # type and id of what a reason is about


def never(_facts: Facts) -> tuple[datetime, ...]:
    """The turns of a rule whose answer time alone does not change."""
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One row of the table of rules.

    ``judge`` returns every reason it finds at the instant. Its sentences depend on the instant only through
    which of them applies, so that a stored verdict stays true until the next turn. ``turns`` returns every
    instant, past or to come, at which time alone may change the answer.
    """

    code: str
    title: str
    effects: tuple[Effect, ...]  # every effect it can have, worst first
    citation: str
    judge: Callable[[Facts, datetime], Iterable[Reason]]
    turns: Callable[[Facts], Iterable[datetime]]

    def reason(
        self, effect: Effect, subject: Subject, *, message: str, cure: str, limitations: tuple[str, ...] = ()
    ) -> Reason:
        """A finding of this rule, under its code and citation."""
        return Reason(
            rule=self.code,
            effect=effect,
            message=message,
            citation=self.citation,
            subject_type=subject[0],
            subject_id=subject[1],
            cure=cure,
            limitations=limitations,
        )

    def grounds(self, subject: Subject, *, message: str, cure: str) -> Reason:
        """A finding that grounds."""
        return self.reason(Effect.GROUNDS, subject, message=message, cure=cure)
