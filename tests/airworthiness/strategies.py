"""Facts as anything may produce them, the impossible included, with instants close enough together to meet."""

from datetime import UTC, datetime, timedelta
from typing import TypeVar

from hypothesis import strategies as st

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

# Clocks change at midnight, change shortly after midnight, skip a day, or never change.
TIME_ZONES = [
    "UTC",
    "Europe/Berlin",
    "Atlantic/Azores",
    "America/Santiago",
    "America/St_Johns",
    "Africa/Cairo",
    "Asia/Beirut",
    "Pacific/Apia",
    "America/Havana",
    "Australia/Lord_Howe",
]
T = TypeVar("T")
MIDDLE = datetime(2026, 3, 28, 12, 0, tzinfo=UTC)  # clocks change the night after in some of them
KINDS = ["airworthiness_review_certificate", "insurance", "radio_licence"]

# Whole hours, so that limits are met exactly now and then.
instants = st.integers(-24 * 12, 24 * 12).map(lambda hours: MIDDLE + timedelta(hours=hours))
dates = st.integers(-40, 40).map(lambda days: MIDDLE.date() + timedelta(days=days))
ids = st.text("abc", min_size=1, max_size=2)
small = st.integers(0, 5)
texts = st.sampled_from(["crack", "scratch on the left side", "loose screw"])


policies = st.builds(
    ClubPolicy,
    time_zone=st.sampled_from(TIME_ZONES),
    triage_limit_days=small,
    decision_limit_days=small,
    repeat_count=st.integers(1, 3),
    repeat_within_days=st.integers(1, 8),
    repeat_within_flights=st.integers(1, 8),
    document_notice_days=st.integers(0, 30),
    required_documents=st.lists(st.sampled_from(KINDS), max_size=2).map(tuple),
)
usages = st.builds(UsageFact, airframe_minutes=small, launches=small)
items = st.builds(
    ItemFact,
    code=ids,
    title=st.sampled_from(["Canopy", "Wing main pin left"]),
    critical=st.booleans(),
    deferrable=st.booleans(),
)
deferrals = st.builds(
    DeferralFact,
    id=ids,
    until_at=st.none() | instants,
    until_date=st.none() | dates,
    until_minutes=st.none() | small,
    until_launches=st.none() | small,
    limitations=st.lists(st.sampled_from(["solo only", "no aerobatics"]), max_size=2).map(tuple),
    in_force=st.booleans(),
    ended_expired=st.booleans(),
)
defects = st.builds(
    DefectFact,
    id=ids,
    number=small,
    description=texts,
    state=st.sampled_from(["reported", "assessed", "deferred", "rectified"]),
    item=st.none() | items,
    reported_at=instants,
    assessed_at=st.none() | instants,
    assessment=st.sampled_from(["hazard", "no_hazard", "no_hazard", None]),
    deferral=st.none() | deferrals,
    work_unreleased=st.booleans(),
    independent_inspection=st.sampled_from(["accepted", "rejected", None]),
)
item_failures = st.builds(
    ItemFailures,
    item=items,
    failed_at=st.lists(instants, max_size=4).map(tuple),
    failed_flights=st.lists(st.none() | small, max_size=4).map(tuple),
)
dailies = st.builds(
    DailyFact,
    id=ids,
    started_at=instants,
    completed_at=instants,
    recorded_at=instants,
    ballast_known=st.sampled_from([True, False, None]),
)
cancellations = st.builds(
    Cancellation,
    kind=st.sampled_from(["rigging", "critical_defect", "critical_work", "occurrence"]),
    happened_at=instants,
    recorded_at=instants,
)
riggings = st.builds(RiggingFact, id=ids, kind=st.sampled_from(["rigged", "derigged"]), occurred_at=instants)
occurrences = st.builds(
    OccurrenceFact,
    id=ids,
    kind=st.sampled_from(["heavy_landing", "bird_strike"]),
    occurred_at=instants,
    description=texts,
)
documents = st.builds(DocumentFact, id=ids, kind=st.sampled_from(KINDS), expires_on=st.none() | dates)


def several(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[tuple[T, ...]]:
    return st.lists(strategy, max_size=3).map(tuple)


facts = st.builds(
    Facts,
    aircraft_id=st.just("aircraft"),
    policy=policies,
    usage=st.none() | usages,
    documents=several(documents),
    defects=several(defects),
    item_failures=several(item_failures),
    last_complete_daily=st.none() | dailies,
    last_daily=st.none() | dailies,
    cancellations=several(cancellations),
    rigging=st.none() | riggings,
    rigging_checked_at=st.none() | instants,
    occurrences=several(occurrences),
)
