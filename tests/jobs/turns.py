"""Each kind of turn: something that time alone changes about an aircraft, and the very instant at which it does."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from fleet.models import Aircraft, AssessmentPeriod, Document
from fleet.services import register
from tests.factories import (
    NOW,
    assessed,
    deferred,
    fresh,
    inspect,
    keeper_of,
    released,
    reported,
)

MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)
Look = tuple[str, bool, tuple[str, ...]]  # status, ready today, rules with their effects


@dataclass(frozen=True, kw_only=True)
class Turn:
    """``build`` leads an aircraft, serviceable at ``NOW``, to where nothing but time is needed."""

    build: Callable[[Aircraft], object]
    at: datetime
    before: Look
    after: Look


def midnight(month: int, day: int) -> datetime:
    """The end of a summer's day in the club's zone, two hours ahead of UTC."""
    return datetime(2025, month, day, 22, 0, tzinfo=UTC)


def insured_until(expires_on: date) -> Callable[[Aircraft], object]:
    def build(aircraft: Aircraft) -> None:
        document = Document.objects.get(aircraft=aircraft, kind="insurance")
        by = keeper_of(aircraft.club)
        locked, document = register.lock_document(document.id, by=by, at=NOW)
        register.change_document(locked, document, by=by, at=NOW, changes={"expires_on": expires_on})

    return build


def failed_three_times(aircraft: Aircraft) -> None:
    for number in range(3):
        at = NOW + number * 10 * MINUTE
        released(aircraft, at=at, found_at=at)


SERVICEABLE: Look = ("serviceable", False, ())
TURNS: dict[str, Turn] = {
    "midnight": Turn(
        build=lambda aircraft: inspect(aircraft, at=NOW),
        at=midnight(5, 14),
        before=("serviceable", True, ()),
        after=SERVICEABLE,
    ),
    "triage limit": Turn(
        build=reported,
        at=NOW + 3 * DAY,
        before=("limited", False, ("untriaged_defect limits",)),
        after=("grounded", False, ("untriaged_defect grounds",)),
    ),
    "decision limit": Turn(
        build=assessed,  # a minute after the report
        at=NOW + MINUTE + 7 * DAY,
        before=("limited", False, ("assessed_defect limits",)),
        after=("grounded", False, ("assessed_defect grounds",)),
    ),
    "end of a deferral": Turn(
        build=deferred,  # for ten days, to the end of the 24th
        at=midnight(5, 24),
        before=("limited", False, ("deferral_running limits",)),
        after=("grounded", False, ("deferral_expired grounds",)),
    ),
    "notice of a document": Turn(
        build=insured_until(date(2025, 6, 30)),
        at=midnight(5, 30),  # from the 31st on, thirty days are left
        before=SERVICEABLE,
        after=("serviceable", False, ("document_expired advises",)),
    ),
    "expiry of a document": Turn(
        build=insured_until(date(2025, 5, 20)),
        at=midnight(5, 20),
        before=("serviceable", False, ("document_expired advises",)),
        after=("grounded", False, ("document_expired grounds",)),
    ),
    "end of repeated failures": Turn(
        build=failed_three_times,
        at=NOW + 30 * DAY,  # the first of the three leaves the window
        before=("serviceable", False, ("repeat_defect advises",)),
        after=SERVICEABLE,
    ),
}


def look(shown: dict[str, Any]) -> Look:
    """What is shown, in short."""
    rules = tuple(f"{reason['rule']} {reason['effect']}" for reason in shown["reasons"])
    return shown["status"], shown["ready_today"], rules


def stored(aircraft: Aircraft) -> Look:
    """The stored verdict, in short."""
    return look(vars(fresh(aircraft).airworthiness))


def periods(aircraft: Aircraft) -> list[tuple[datetime, datetime | None, Look, str, object]]:
    """What was shown, from when to when."""
    listed = AssessmentPeriod.objects.filter(aircraft=aircraft).order_by("shown_from")
    return [(one.shown_from, one.shown_to, look(vars(one)), str(one.reasons), one.next_due) for one in listed]
