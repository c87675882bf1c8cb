"""The ground of the state machine: the clock, looks, acts in a savepoint, and what must hold after every step."""

import logging
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.db import connection, transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine

from fleet import assessment, events
from fleet.errors import DomainError
from fleet.models import AirworthinessState, AssessmentPeriod, Document, Membership
from fleet.services import showing
from inspections.models import SheetLine
from tests.stateful import snapshot
from tests.stateful.improvements import check_improvement
from tests.stateful.oracle import RANK, Craft, Paper, Settings, Traits
from tests.stateful.ways import Services
from tests.stateful.world import STARTS, World

T = TypeVar("T")
Look = Mapping[str, Any]


class Complaints(logging.Handler):
    """Whatever the service logs as an error while the machine runs."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(f"{record.name}: {record.getMessage()} {record.exc_info or ''}")


class Watched(RuleBasedStateMachine):
    """One example is one transaction that is rolled back; acts take the machine's clock."""

    world: ClassVar[World]
    way: ClassVar[Services] = Services()
    tally: ClassVar[Counter[str]] = Counter()
    complaints: ClassVar[Complaints] = Complaints()

    def __init__(self) -> None:
        super().__init__()
        self.transaction = transaction.atomic()
        self.transaction.__enter__()
        self.complaints.lines.clear()
        self.now = STARTS[0]
        self.crafts = self._crafts()
        self.lines = _lines()
        self.people = self._members()
        self.proper = False
        self.rows = snapshot.take()
        self.log: dict[UUID, dict[datetime, list[Look]]] = defaultdict(lambda: defaultdict(list))

    def teardown(self) -> None:
        """Foreign keys are checked at the end of a transaction only, so they are asked for here."""
        try:
            if not connection.needs_rollback:
                connection.check_constraints()
                self._check_chains()
        finally:
            transaction.set_rollback(True)
            self.transaction.__exit__(None, None, None)

    def _crafts(self) -> dict[UUID, Craft]:
        settings = {
            club.id: Settings(
                club.time_zone, club.triage_limit_days, club.decision_limit_days, set(club.required_documents)
            )
            for club in self.world.clubs
        }
        items = {
            one.aircraft_type_id: {
                item.code: Traits(item.critical, item.deferrable) for item in one.aircraft_type.items.all()
            }
            for one in self.world.aircraft
        }
        papers: dict[UUID, list[Paper]] = defaultdict(list)
        for document in Document.objects.order_by("recorded_at", "id"):
            papers[document.aircraft_id].append(
                Paper(document.id, document.kind, document.issued_on, document.expires_on)
            )
        return {
            one.id: Craft(settings[one.club_id], items[one.aircraft_type_id], papers[one.id])
            for one in self.world.aircraft
        }

    # people

    def _members(self) -> list[Membership]:
        """As they are stored now, in the order of the world."""
        found = Membership.objects.filter(id__in=self.world.members).select_related("club", "person")
        by_id = {member.id: member for member in found}
        return [by_id[member_id] for member_id in self.world.members]

    def somebody(self, data: st.DataObject, club_id: UUID, *roles: str, authorised: str = "") -> Membership:
        """Mostly an active member of the club with one of the roles; now and then anybody of either club."""
        fitting = [one for one in self.people if one.club_id == club_id and one.active and one.holds(*roles)]
        if authorised and self.mostly(data):
            fitting = [one for one in fitting if authorised in self.world.privileges.get(one.id, ())]
        return data.draw(st.sampled_from(fitting if fitting and self.mostly(data) else self.people), label="by")

    def mostly(self, data: st.DataObject) -> bool:
        """Whether to do this as one should."""
        return self.proper or data.draw(MOSTLY)

    # acts

    def act(self, name: str, by: Membership | None, call: Callable[[], T]) -> T | None:
        """The result of the act, or None if it was refused, and then nothing at all has changed. Ends with ``settle``."""
        before = self.look(self.now)
        result, refusal = _attempt(call)
        if refusal is not None:
            self.tally[f"{name} refused"] += 1
            assert refusal.detail, refusal.code
            assert snapshot.take() == self.rows, f"{name} was refused ({refusal.code}) and left a trace"
            return None
        self.tally[name] += 1
        self.before, self.act_name, self.actor = before, name, by
        return result

    def settle(self, *, better: bool = True) -> None:
        """After an act that was done, and after the bookkeeping of it: everything must hold, and nobody gained unduly."""
        after = self.check()
        for aircraft_id, look in after.items():
            check_improvement(self.act_name, self.actor, self.before[aircraft_id], look)
            if not better:
                self._check_no_better(self.before[aircraft_id], look)

    def _check_no_better(self, before: Look, after: Look) -> None:
        assert RANK[after["status"]] >= RANK[before["status"]], f"{self.act_name} is adverse and improved the status"
        assert not (after["ready_today"] and not before["ready_today"]), f"{self.act_name} made it ready"

    # looks

    def look(self, at: datetime) -> dict[UUID, dict[str, Any]]:
        """What everybody sees at the instant."""
        states = AirworthinessState.objects.filter(aircraft_id__in=list(self.crafts))
        return showing.shown_now(states, at)

    def check(self) -> dict[UUID, dict[str, Any]]:
        """Invariants 1, 4 and 5, and the oracle, for every aircraft at this instant."""
        self.tally["checked"] += 1
        shown = self.look(self.now)
        verdicts = assessment.assess(list(self.crafts), self.now)
        for aircraft_id, craft in self.crafts.items():
            recomputed = assessment.shown_values(verdicts[aircraft_id])
            assert shown[aircraft_id] == recomputed, ("shown differs from recomputed", shown[aircraft_id], recomputed)
            self._check_oracle(craft, shown[aircraft_id])
        rows = snapshot.take()
        assert not (gone := snapshot.lost(self.rows, rows)), f"recorded rows were changed or deleted: {gone}"
        self.rows = rows
        self._check_past(shown)
        assert not self.complaints.lines, self.complaints.lines
        return shown

    def _check_oracle(self, craft: Craft, look: Look) -> None:
        grounding, expected = craft.grounding(self.now), craft.status(self.now)
        assert not grounding or look["status"] == "grounded", f"{look['status']} although {sorted(grounding)}"
        assert (look["status"], look["ready_today"]) == (expected, craft.ready(self.now)), (sorted(grounding), look)
        assert look["open_defects"] == len(craft.open_flaws())

    def _check_past(self, shown: Mapping[UUID, Look]) -> None:
        """Every look that was ever made is answered by the periods as it was shown."""
        periods: dict[UUID, list[AssessmentPeriod]] = defaultdict(list)
        for period in AssessmentPeriod.objects.filter(aircraft_id__in=list(self.crafts)).order_by("shown_from"):
            periods[period.aircraft_id].append(period)
        for aircraft_id, look in shown.items():
            listed, looks = periods[aircraft_id], self.log[aircraft_id]
            _check_contiguous(listed)
            for instant in looks:
                told = _told(listed, instant)
                assert told is None or told in _seen(looks, instant), (f"at {instant} it is told differently now", told)
            looks[self.now].append(look)

    def _check_chains(self) -> None:
        for club in self.world.clubs:
            verification = events.verify(club)
            assert verification.valid, verification.faults

    def forget_looks_after(self, at: datetime) -> None:
        """An act by a clock that lags counts from its own instant on: looks made since then are not held against it."""
        for looks in self.log.values():
            for instant in [instant for instant in looks if instant > at]:
                del looks[instant]

    def go_to(self, instant: datetime) -> None:
        """The clock never goes back."""
        self.now = max(self.now, instant)


def _attempt(call: Callable[[], T]) -> tuple[T | None, DomainError | None]:
    try:
        with transaction.atomic():
            return call(), None
    except DomainError as refusal:
        return None, refusal


MOSTLY = st.sampled_from([True] * 7 + [False])
BLUR = timedelta(microseconds=50)


def _lines() -> dict[UUID, dict[str, SheetLine]]:
    """By sheet: its lines by item code."""
    lines: dict[UUID, dict[str, SheetLine]] = defaultdict(dict)
    for line in SheetLine.objects.order_by("position"):
        lines[line.sheet_id][line.code] = line
    return dict(lines)


def _seen(looks: Mapping[datetime, list[Look]], at: datetime) -> list[Look]:
    """Looks at the instant. Acts that share an instant are kept apart by a microsecond each: so far an instant is blurred."""
    return [look for instant, listed in looks.items() if abs(instant - at) <= BLUR for look in listed]


def _told(periods: list[AssessmentPeriod], at: datetime) -> Look | None:
    """What the closed periods say about an instant; None: the open period covers it, which a look itself decides."""
    for period in periods:
        if period.shown_from <= at and period.shown_to is not None and at < period.shown_to:
            return {name: getattr(period, name) for name in assessment.SHOWN}
    return None


def _check_contiguous(periods: list[AssessmentPeriod]) -> None:
    for earlier, later in pairwise(periods):
        assert earlier.shown_to == later.shown_from, "a gap between periods"
    assert periods[-1].shown_to is None
