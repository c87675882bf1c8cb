"""What the records hold for an airworthiness review, beside the facts of the rules: frozen plain values.

Texts are what somebody wrote, as they wrote it. "Unknown" is a value, and never counts as evidence.
"""

from dataclasses import dataclass
from datetime import date, datetime

from fleet.airworthiness.due.limit import Limits
from fleet.airworthiness.due.measures import Readings
from fleet.airworthiness.due_facts import Decision, DueFact
from fleet.airworthiness.facts import Facts


@dataclass(frozen=True, slots=True, kw_only=True)
class LastDone:
    """The latest compliance with a task."""

    on: date
    by: str
    method: str
    taken_over: bool  # from earlier records; not signed here


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskKnown:
    """A task of the programme on the aircraft or on a component in it."""

    fact: DueFact
    code: str
    basis: str
    last: LastDone | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectiveKnown:
    """One demand of a directive in force that may concern the aircraft, or a component in it."""

    reference: str
    title: str
    issuer: str
    effective_on: date
    component: str  # blank: the aircraft itself
    decision: Decision | None  # None: nobody has decided whether it applies
    decided: str  # by whom, when and why; blank without a decision
    limits: Limits | None  # None: no task says what it demands
    last: LastDone | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentKnown:
    """A component that is in the aircraft now."""

    name: str
    position: str
    installed_on: date
    serviceable: bool
    condition: str
    history_known: bool
    release_document: str
    since_new: Readings  # a dimension that is missing is not known
    overhauled_on: date | None
    since_overhaul: Readings


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperKnown:
    """A document that was not withdrawn."""

    id: str
    kind: str
    reference: str
    issued_on: date
    expires_on: date | None  # last valid day as printed; None: it has none
    extensions_made: int  # of a review certificate: it is so many extensions after its review


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkKnown:
    """Maintenance that was certified."""

    on: date
    what: str
    data_used: str
    done_by: str
    signed_by: str  # with the licence; blank: taken over from earlier records, not signed here


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedDefect:
    """A defect that was released to service, or found to be none."""

    number: int
    description: str
    closed_on: date
    work_done: str  # blank: it was none
    data_used: str
    done_by: str
    signed_by: str
    independently_by: str  # who inspected the work independently; blank: nobody


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """All that the eleven checks are made from."""

    facts: Facts
    now: datetime
    today: date  # flying day of ``now``
    since: date | None  # evidence of what was done is shown from here; None: from the beginning
    engine: bool  # the type has one
    totals: Readings | None  # of the aircraft; None: not known
    tasks: tuple[TaskKnown, ...]
    directives: tuple[DirectiveKnown, ...]
    components: tuple[ComponentKnown, ...]
    papers: tuple[PaperKnown, ...]
    work: tuple[WorkKnown, ...]
    closed: tuple[ClosedDefect, ...]
    positions: int  # required positions of the aircraft and of what is in it
    flights: int  # usage entries since

    def of_kind(self, kind: str) -> tuple[PaperKnown, ...]:
        """Documents of a kind, the one that reaches furthest first."""
        found = [paper for paper in self.papers if paper.kind == kind]
        return tuple(sorted(found, key=lambda one: (one.expires_on or date.max, one.issued_on), reverse=True))
