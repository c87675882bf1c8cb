"""What a review knows of an aircraft with nothing open, to be changed one thing at a time."""

from dataclasses import replace
from datetime import date
from typing import Any

from fleet.airworthiness.due import Dimension, Limits, UsageLimit
from fleet.airworthiness.due_facts import DueFact, UsageRecord
from fleet.airworthiness.review import Check, Known, review
from fleet.airworthiness.review.known import (
    ClosedDefect,
    ComponentKnown,
    DirectiveKnown,
    LastDone,
    PaperKnown,
    TaskKnown,
    WorkKnown,
)
from tests.airworthiness.builders import DAY, NOW, TODAY, facts

TOTALS = {Dimension.AIRFRAME_MINUTES: 60_000, Dimension.LAUNCHES: 2_000}
NEVER_AGAIN = Limits(usage=(), calendar=None, unknown=(), finished=True, life_limit=False)
UNKNOWN = replace(NEVER_AGAIN, finished=False, unknown=(Dimension.LAUNCHES,))
LAST = LastDone(on=date(2026, 3, 1), by="Invented Person", method="Inspected.", taken_over=False)
COMPONENT = ComponentKnown(
    name="Tow release S1",
    position="Nose",
    installed_on=date(2025, 5, 1),
    serviceable=True,
    condition="serviceable",
    history_known=True,
    release_document="Form 1 no. 7",
    since_new=TOTALS,
    overhauled_on=None,
    since_overhaul={},
)
DIRECTIVE = DirectiveKnown(
    reference="AD-1",
    title="Inspect the spar",
    issuer="Invented Authority",
    effective_on=date(2025, 1, 1),
    component="",
    decision="applicable",
    decided="By serial number (Invented Person, 2025-01-02)",
    limits=NEVER_AGAIN,
    last=LAST,
)
WORK = WorkKnown(
    on=date(2026, 3, 1), what="task-1: Done.", data_used="Manual", done_by="A", signed_by="Invented Person, ZZ.66.0001"
)
CLOSED = ClosedDefect(
    number=2,
    description="tape loose",
    closed_on=date(2026, 4, 1),
    work_done="Taped.",
    data_used="Manual",
    done_by="A",
    signed_by="Invented Person, ZZ.66.0001",
    independently_by="",
)


def limited(due: int, *, life_limit: bool = False, tolerance: int = 0) -> Limits:
    """So many launches."""
    limit = UsageLimit(dimension=Dimension.LAUNCHES, notice=due, due=due, hard=due + tolerance, interval=100)
    return Limits(usage=(limit,), calendar=None, unknown=(), finished=False, life_limit=life_limit)


def task(limits: Limits, **changes: Any) -> TaskKnown:
    """An inspection under these limits, at 2,000 launches now."""
    fact = DueFact(
        task_id="task",
        title="Inspection",
        mandatory=True,
        subject_type="aircraft",
        subject_id="aircraft",
        subject_label="",
        limits=limits,
        readings=TOTALS,
        known=not limits.unknown,
    )
    return TaskKnown(fact=replace(fact, **changes), code="task-1", basis="Programme issue 1", last=LAST)


def paper(kind: str, expires_on: date | None = None, **changes: Any) -> PaperKnown:
    """A document."""
    made = PaperKnown(
        id=kind, kind=kind, reference="R-1", issued_on=date(2025, 1, 1), expires_on=expires_on, extensions_made=0
    )
    return replace(made, **changes)


KNOWN = Known(
    facts=facts(usage_record=UsageRecord(last_recorded_at=NOW - DAY, sign_of_flight_at=NOW - 2 * DAY)),
    now=NOW,
    today=TODAY,
    since=date(2025, 5, 1),
    engine=False,
    totals=TOTALS,
    tasks=(task(limited(2_100)), task(limited(3_000, life_limit=True))),
    directives=(DIRECTIVE,),
    components=(COMPONENT,),
    papers=(paper("weighing_report"), paper("noise_certificate")),
    work=(WORK,),
    closed=(CLOSED,),
    positions=1,
    flights=30,
)


def known(**changes: Any) -> Known:
    """The same, but for the changes; those named like fields of the facts change the facts."""
    of_review = {name: value for name, value in changes.items() if name in Known.__dataclass_fields__}
    of_facts = {name: value for name, value in changes.items() if name not in of_review}
    return replace(KNOWN, facts=replace(KNOWN.facts, **of_facts), **of_review)


def check(number: int, **changes: Any) -> Check:
    """One check of the review."""
    return review(known(**changes))[number - 1]
