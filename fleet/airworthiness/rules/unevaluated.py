"""What could not be evaluated grounds."""

from datetime import datetime

from fleet.airworthiness.facts import Facts
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.verdict import Effect, Reason


def _nothing(_facts: Facts, _now: datetime) -> tuple[Reason, ...]:
    return ()


def rule_error(aircraft_id: str, what: str) -> Reason:
    """The reason for something that could not be evaluated; ``what`` names it in the sentence."""
    return RULE_ERROR.grounds(
        ("aircraft", aircraft_id),
        message=f"{what} could not be evaluated, so the aircraft counts as grounded.",
        cure="Tell the club administrator: the error is on record and has to be put right first.",
    )


RULE_ERROR = Rule(
    code="rule_error",
    title="Rule that could not be evaluated",
    effects=(Effect.GROUNDS,),
    citation="club practice",
    judge=_nothing,  # found by whoever runs the rules, not by looking at the facts
    turns=never,
)
