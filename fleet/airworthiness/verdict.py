"""The answer of the rules layer at one instant."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import IntEnum


class Effect(IntEnum):
    """What a reason does to an aircraft, ordered: a larger effect is worse."""

    ADVISES = 1
    LIMITS = 2
    GROUNDS = 3

    @property
    def code(self) -> str:
        """The word of the API."""
        return self.name.lower()


class Status(IntEnum):
    """Airworthiness status, ordered: a larger status is worse."""

    SERVICEABLE = 1
    LIMITED = 2
    GROUNDED = 3

    @property
    def code(self) -> str:
        """The word of the API."""
        return self.name.lower()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One thing that a rule found. Sentences are plain enough for a pilot at the launch point."""

    rule: str
    effect: Effect
    message: str
    citation: str
    subject_type: str  # "defect", "document", "inspection", "occurrence", "rigging_event", "item", "aircraft"
    subject_id: str
    cure: str  # what would clear it
    limitations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NextDue:
    """The next date on which something on this aircraft ends."""

    title: str
    on: date
    subject_type: str
    subject_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Status with its reasons (worst first, in a stable order) and the instant until which it holds."""

    status: Status
    ready_today: bool
    reasons: tuple[Reason, ...]
    limitations: tuple[str, ...]
    open_defects: int
    next_due: NextDue | None
    valid_until: datetime | None  # exclusive; None: nothing changes by time alone
    errors: tuple[str, ...]  # what a failed rule raised; recorded, never shown as "fine"


def as_json(reason: Reason) -> dict[str, object]:
    """The reason in the words of the API; its limitations are collected on the verdict."""
    return {
        "rule": reason.rule,
        "effect": reason.effect.code,
        "message": reason.message,
        "citation": reason.citation,
        "subject": {"type": reason.subject_type, "id": reason.subject_id},
        "cure": reason.cure,
    }
