"""Whether the daily inspection of this flying day is made and still counts.

It says nothing about the status: a grounded aircraft can be inspected, and a serviceable one can lack its inspection.
Source: BGA Operational Regulation 38 (before flying on each day; a newly rigged glider is inspected again).
"""

from datetime import datetime

from fleet.airworthiness.facts import Cancellation, DailyFact, Facts
from fleet.airworthiness.flying_day import edges, flying_day

# What somebody did: an inspection that began after it has seen it.
SEEN_BY_A_LATER_INSPECTION = frozenset({"rigging", "critical_work"})


def ready_today(facts: Facts, now: datetime) -> bool:
    """True if a complete daily inspection of the flying day of ``now`` exists and nothing cancels it.

    Raises for an unknown time zone, also when there is no inspection to look at.
    """
    today = flying_day(now, facts.policy.time_zone)
    daily = facts.last_complete_daily
    if daily is None or flying_day(daily.completed_at, facts.policy.time_zone) != today:
        return False
    return not any(_cancels(cancellation, daily) for cancellation in facts.cancellations)


def _cancels(cancellation: Cancellation, daily: DailyFact) -> bool:
    if cancellation.happened_at > daily.started_at:
        return True
    # A defect or an occurrence that came to be known only with or after the inspection cancels it too, even if it
    # happened earlier: the inspection did not know of it. So does a critical defect that the inspection itself
    # found, and an unknown kind of cancellation.
    return cancellation.kind not in SEEN_BY_A_LATER_INSPECTION and cancellation.recorded_at >= daily.recorded_at


def turns(facts: Facts) -> tuple[datetime, ...]:
    """The instants at which time alone changes the answer."""
    daily = facts.last_complete_daily
    return () if daily is None else edges(daily.completed_at, facts.policy.time_zone)
