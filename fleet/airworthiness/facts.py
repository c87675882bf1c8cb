"""What the rules know about one aircraft: frozen plain values.

Every field is required. "Unknown" is a value (``None``) and never means "fine". Instants are aware datetimes,
civil dates are in the club's time zone, usage is in integer minutes and whole launches.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

DefectState = Literal["reported", "assessed", "deferred", "rectified"]
Assessment = Literal["hazard", "no_hazard"]
CancellationKind = Literal["rigging", "critical_defect", "critical_work", "occurrence"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClubPolicy:
    """The club's settings that rules read."""

    time_zone: str  # IANA name; a flying day is a date in this zone
    triage_limit_days: int
    decision_limit_days: int
    repeat_count: int
    repeat_within_days: int
    repeat_within_flights: int
    document_notice_days: int
    required_documents: tuple[str, ...]  # document kinds


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageFact:
    """Totals of the airframe."""

    airframe_minutes: int
    launches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFact:
    """One inspectable item of the type's catalogue, as it is classified now."""

    code: str
    title: str
    critical: bool
    deferrable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DeferralFact:
    """The latest deferral of a defect; the first limit that is reached ends it."""

    id: str
    until_at: datetime | None  # exclusive: the first instant that is no longer covered
    until_date: date | None  # the last day covered, for the sentence
    until_minutes: int | None  # airframe total at which it ends
    until_launches: int | None  # launch total at which it ends
    limitations: tuple[str, ...]
    in_force: bool  # False once withdrawn, expired by the job, or the defect was rectified
    ended_expired: bool  # it ended because a limit had passed


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectFact:
    """An open defect (every state before ``released`` and ``no_defect``)."""

    id: str
    number: int  # running number on this aircraft, for the sentence
    description: str
    state: DefectState
    item: ItemFact | None  # None: nobody has said yet what it touches
    reported_at: datetime  # when the service came to know it
    assessed_at: datetime | None
    assessment: Assessment | None
    deferral: DeferralFact | None
    work_unreleased: bool  # work was recorded since and has not been released
    independent_inspection: Literal["accepted", "rejected"] | None  # of the latest rectification


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFailures:
    """When one item of this aircraft was reported defective, oldest first (``no_defect`` excluded)."""

    item: ItemFact
    failed_at: tuple[datetime, ...]
    failed_flights: tuple[int | None, ...]  # flight total of the aircraft at each failure; None: unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class DailyFact:
    """A daily inspection."""

    id: str
    started_at: datetime
    completed_at: datetime
    recorded_at: datetime
    ballast_known: bool | None  # None: its sheet has no ballast item


@dataclass(frozen=True, slots=True, kw_only=True)
class Cancellation:
    """Something that may cancel a daily inspection: the latest of its kind."""

    kind: CancellationKind
    happened_at: datetime
    recorded_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RiggingFact:
    """The latest rigging event."""

    id: str
    kind: Literal["rigged", "derigged"]
    occurred_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class OccurrenceFact:
    """An occurrence that no unscheduled inspection has answered yet."""

    id: str
    kind: str
    occurred_at: datetime
    description: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentFact:
    """The document of its kind that reaches furthest."""

    id: str
    kind: str
    expires_on: date | None  # last valid day; None: it has no expiry


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that is known about one aircraft at one instant."""

    aircraft_id: str
    policy: ClubPolicy
    usage: UsageFact | None
    documents: tuple[DocumentFact, ...]
    defects: tuple[DefectFact, ...]
    item_failures: tuple[ItemFailures, ...]
    last_complete_daily: DailyFact | None  # latest by completed_at
    last_daily: DailyFact | None  # the latest that tells of ballast: unknown, or known and complete
    cancellations: tuple[Cancellation, ...]
    rigging: RiggingFact | None
    rigging_checked_at: datetime | None  # start of the latest complete after-rigging inspection
    occurrences: tuple[OccurrenceFact, ...]
