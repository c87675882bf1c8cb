"""Whether recorded usage keeps up with flying: limits in hours and launches are only as good as it is."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.continuing_facts import ContinuingFacts
from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.verdict import Effect, Reason


def _usage_stale(facts: ContinuingFacts, _now: datetime) -> Iterator[Reason]:
    recorded_at, flew_at = facts.usage_record.last_recorded_at, facts.usage_record.sign_of_flight_at
    if flew_at is None or (recorded_at is not None and flew_at <= recorded_at):
        return
    zone = facts.policy.time_zone
    recorded = (
        "has ever been recorded" if recorded_at is None else f"has been recorded since {flying_day(recorded_at, zone)}"
    )
    yield USAGE_STALE.reason(
        Effect.ADVISES,
        ("aircraft", facts.aircraft_id),
        message=f"The aircraft shows signs of a flight on {flying_day(flew_at, zone)}, and no usage {recorded}.",
        cure="Record the flights: what is due by hours and launches is not up to date before.",
    )


USAGE_STALE = Rule(
    code="usage_stale",
    title="Flown since the last usage entry",
    effects=(Effect.ADVISES,),
    citation="ML.A.305(b), ML.A.305(c)",
    judge=_usage_stale,  # type: ignore[arg-type]
    turns=never,
)
