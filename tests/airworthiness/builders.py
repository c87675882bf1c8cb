"""Facts with nothing the matter, to be changed one thing at a time."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.facts import (
    Cancellation,
    ClubPolicy,
    DailyFact,
    DefectFact,
    DeferralFact,
    DocumentFact,
    Facts,
    ItemFact,
    ItemFailures,
    OccurrenceFact,
    RiggingFact,
    UsageFact,
)
from fleet.airworthiness.verdict import Effect, Reason

NOW = datetime(2026, 5, 10, 12, 0, tzinfo=UTC)
TODAY = date(2026, 5, 10)
HOUR, DAY, MOMENT = timedelta(hours=1), timedelta(days=1), timedelta(microseconds=1)

POLICY = ClubPolicy(
    time_zone="Europe/Berlin",
    triage_limit_days=3,
    decision_limit_days=7,
    repeat_count=3,
    repeat_within_days=30,
    repeat_within_flights=15,
    document_notice_days=28,
    required_documents=("airworthiness_review_certificate",),
)
CANOPY = ItemFact(code="CAN-01", title="Canopy", critical=False, deferrable=True)
MAIN_PIN = ItemFact(code="WNG-01", title="Wing main pin left", critical=True, deferrable=False)
CERTIFICATE = DocumentFact(id="arc", kind="airworthiness_review_certificate", expires_on=date(2027, 3, 31))
DAILY = DailyFact(
    id="daily",
    started_at=NOW - 4 * HOUR,
    completed_at=NOW - 3 * HOUR,
    recorded_at=NOW - 3 * HOUR,
    ballast_known=None,
)
FACTS = Facts(
    aircraft_id="aircraft",
    policy=POLICY,
    usage=UsageFact(airframe_minutes=60_000, launches=2_000),
    documents=(CERTIFICATE,),
    defects=(),
    item_failures=(),
    last_complete_daily=DAILY,
    last_daily=DAILY,
    cancellations=(),
    rigging=None,
    rigging_checked_at=None,
    occurrences=(),
)
DEFECT = DefectFact(
    id="defect",
    number=4,
    description="crack near the hinge",
    state="reported",
    item=CANOPY,
    reported_at=NOW - DAY,
    assessed_at=None,
    assessment=None,
    deferral=None,
    work_unreleased=False,
    independent_inspection=None,
)
DEFERRAL = DeferralFact(
    id="deferral",
    until_at=datetime(2026, 5, 20, 22, 0, tzinfo=UTC),
    until_date=date(2026, 5, 20),
    until_minutes=None,
    until_launches=None,
    limitations=("no aerobatics",),
    in_force=True,
    ended_expired=False,
)


def facts(**changes: Any) -> Facts:
    """A serviceable aircraft that is ready today, but for the changes."""
    return replace(FACTS, **changes)


def policy(**changes: Any) -> ClubPolicy:
    """The club's settings, but for the changes."""
    return replace(POLICY, **changes)


def defect(**changes: Any) -> DefectFact:
    """A defect on an item that is not critical, reported a day ago."""
    return replace(DEFECT, **changes)


def assessed(**changes: Any) -> DefectFact:
    """A defect assessed as no hazard twelve hours ago."""
    return defect(**{"state": "assessed", "assessment": "no_hazard", "assessed_at": NOW - 12 * HOUR} | changes)


def deferred(**changes: Any) -> DefectFact:
    """An assessed defect with a deferral in force, whose terms are changed."""
    return assessed(state="deferred", deferral=replace(DEFERRAL, **changes))


def rectified(**changes: Any) -> DefectFact:
    """A defect on a critical item, worked on and independently inspected, not released."""
    start = {"state": "rectified", "item": MAIN_PIN, "work_unreleased": True, "independent_inspection": "accepted"}
    return assessed(**start | changes)


def failures(*failed_at: datetime, flights: tuple[int | None, ...] = ()) -> ItemFailures:
    """When the canopy failed."""
    return ItemFailures(item=CANOPY, failed_at=failed_at, failed_flights=flights)


def rigging(**changes: Any) -> RiggingFact:
    """Rigged two hours ago."""
    return replace(RiggingFact(id="rigging", kind="rigged", occurred_at=NOW - 2 * HOUR), **changes)


def occurrence(**changes: Any) -> OccurrenceFact:
    """A heavy landing an hour ago."""
    heavy = OccurrenceFact(id="occurrence", kind="heavy_landing", occurred_at=NOW - HOUR, description="bounced\ntwice")
    return replace(heavy, **changes)


def daily(**changes: Any) -> DailyFact:
    """A daily inspection of this morning."""
    return replace(DAILY, **changes)


def document(**changes: Any) -> DocumentFact:
    """An airworthiness review certificate."""
    return replace(CERTIFICATE, **changes)


def cancellation(**changes: Any) -> Cancellation:
    """A rigging after the daily inspection."""
    at = NOW - HOUR
    return replace(Cancellation(kind="rigging", happened_at=at, recorded_at=at), **changes)


def findings(known: Facts, code: str, now: datetime = NOW) -> list[Reason]:
    """What one rule finds, in a whole evaluation without errors."""
    verdict = evaluate(known, now)
    assert verdict.errors == ()
    return [reason for reason in verdict.reasons if reason.rule == code]


def effects(known: Facts, code: str, now: datetime = NOW) -> list[Effect]:
    """The effects of one rule's findings."""
    return [reason.effect for reason in findings(known, code, now)]
