"""What an inspection must answer before the aircraft flies: rigging, occurrences, ballast."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.facts import Facts
from fleet.airworthiness.flying_day import edges, flying_day
from fleet.airworthiness.rule import Rule, never
from fleet.airworthiness.sentences import capitalised, one_line, words
from fleet.airworthiness.verdict import Effect, Reason


def _rigging_check_missing(facts: Facts, _now: datetime) -> Iterator[Reason]:
    rigging, checked_at = facts.rigging, facts.rigging_checked_at
    if rigging is None or (checked_at is not None and checked_at >= rigging.occurred_at):
        return
    if rigging.kind == "rigged":
        message = "The aircraft was rigged, and no complete after-rigging inspection has been made since."
        cure = "Make a complete after-rigging inspection with a second person."
    else:
        message = "The aircraft was derigged, and no complete after-rigging inspection has been made since."
        cure = "Rig the aircraft, then make a complete after-rigging inspection with a second person."
    yield RIGGING_CHECK_MISSING.grounds(("rigging_event", rigging.id), message=message, cure=cure)


RIGGING_CHECK_MISSING = Rule(
    code="rigging_check_missing",
    title="Rigged without an after-rigging inspection",
    effects=(Effect.GROUNDS,),
    citation="EASA SIB 2019-07, club practice",
    judge=_rigging_check_missing,
    turns=never,
)


def _unscheduled_inspection_due(facts: Facts, _now: datetime) -> Iterator[Reason]:
    for occurrence in facts.occurrences:
        day = flying_day(occurrence.occurred_at, facts.policy.time_zone).isoformat()
        name = f"{capitalised(words(occurrence.kind))} on {day} ({one_line(occurrence.description)})"
        yield UNSCHEDULED_INSPECTION_DUE.grounds(
            ("occurrence", occurrence.id),
            message=f"{name} has not been answered by an unscheduled inspection.",
            cure="Have an inspector make an unscheduled inspection for it, with or without visible damage.",
        )


UNSCHEDULED_INSPECTION_DUE = Rule(
    code="unscheduled_inspection_due",
    title="Occurrence without an unscheduled inspection",
    effects=(Effect.GROUNDS,),
    citation="ML.A.902(b)",
    judge=_unscheduled_inspection_due,
    turns=never,
)


def _ballast_unknown(facts: Facts, now: datetime) -> Iterator[Reason]:
    daily, time_zone = facts.last_daily, facts.policy.time_zone
    if daily is None or daily.ballast_known is not False:
        return
    if flying_day(daily.completed_at, time_zone) == flying_day(now, time_zone):
        yield BALLAST_UNKNOWN.grounds(
            ("inspection", daily.id),
            message="The ballast state was not known at the latest daily inspection.",
            cure="Drain or remove the ballast, and record it in a daily inspection.",
        )


def _day_without_ballast(facts: Facts) -> tuple[datetime, ...]:
    daily = facts.last_daily
    if daily is None or daily.ballast_known is not False:
        return ()
    return edges(daily.completed_at, facts.policy.time_zone)


BALLAST_UNKNOWN = Rule(
    code="ballast_unknown",
    title="Ballast state unknown",
    effects=(Effect.GROUNDS,),
    citation="common practice",
    judge=_ballast_unknown,
    turns=_day_without_ballast,
)
