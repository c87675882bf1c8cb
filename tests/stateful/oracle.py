"""What an aircraft must show, told from what happened to it: plain bookkeeping that knows nothing of the rules' code.

It reads only what the acts said and did, never the database. Source: the design's table of rules, in its own words.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

DAY = timedelta(days=1)
CLOSED = ("released", "no_defect")
RANK = {"serviceable": 0, "limited": 1, "grounded": 2}


@dataclass(slots=True)
class Settings:
    """A club's, as far as they change the status."""

    zone: str
    triage_days: int
    decision_days: int
    required: set[str]

    def day(self, instant: datetime) -> date:
        return instant.astimezone(ZoneInfo(self.zone)).date()


@dataclass(slots=True)
class Traits:
    """How an item is classified now."""

    critical: bool
    deferrable: bool


@dataclass(slots=True)
class Deferred:
    """The latest deferral. ``ended`` with ``past``: a limit had passed by then."""

    last_day: date | None
    by_usage: bool
    ended: bool = False
    past: bool = False


@dataclass(slots=True)
class Flaw:
    """A defect."""

    id: UUID
    item: str | None
    found_at: datetime
    reported_at: datetime
    touched_critical_at: datetime | None
    state: str = "reported"
    hazard: bool | None = None
    assessed_at: datetime | None = None
    deferred: Deferred | None = None
    work: list[UUID] = field(default_factory=list)  # everybody with a hand in the latest work; empty: none
    work_on_critical: bool = False
    critical_work_at: list[datetime] = field(default_factory=list)
    checked_by: UUID | None = None  # who accepted the latest work


@dataclass(slots=True)
class Paper:
    """A document."""

    id: UUID
    kind: str
    issued: date
    expires: date | None
    withdrawn: bool = False


@dataclass(slots=True)
class Walk:
    """A daily or after-rigging inspection."""

    started: datetime
    completed: datetime
    recorded: datetime
    complete: bool
    ballast_known: bool | None


@dataclass(slots=True)
class Craft:
    """Everything that was said about one aircraft."""

    settings: Settings
    items: dict[str, Traits]
    papers: list[Paper] = field(default_factory=list)
    flaws: dict[UUID, Flaw] = field(default_factory=dict)
    dailies: list[Walk] = field(default_factory=list)
    rig_checks: list[Walk] = field(default_factory=list)
    riggings: list[datetime] = field(default_factory=list)
    occurrences: dict[UUID, tuple[datetime, datetime]] = field(default_factory=dict)  # happened, reported
    answered: set[UUID] = field(default_factory=set)

    def is_critical(self, code: str | None) -> bool:
        """Nobody knows which item: counts as critical."""
        return code is None or self.items[code].critical

    def open_flaws(self) -> list[Flaw]:
        return [flaw for flaw in self.flaws.values() if flaw.state not in CLOSED]

    def grounding(self, now: datetime) -> set[str]:
        """Names of the facts that ground at the instant."""
        found = {name for flaw in self.open_flaws() for name in self._flaw_grounds(flaw, now)}
        found |= {f"no {kind}" for kind in self.settings.required if not self._valid(kind, now)}
        if self.riggings and max(self.riggings) > self._rigging_checked():
            found.add("rigged and not checked")
        if set(self.occurrences) - self.answered:
            found.add("occurrence not answered")
        if self._ballast_unknown(now):
            found.add("ballast unknown")
        return found

    def _flaw_grounds(self, flaw: Flaw, now: datetime) -> set[str]:
        facts = {
            "critical item": self.is_critical(flaw.item),
            "hazard": flaw.hazard is True,
            "not released": bool(flaw.work),
            "untriaged for too long": flaw.state == "reported" and now >= flaw.reported_at + self._triage_limit(),
            "undecided for too long": self._undecided(flaw, now),
            "deferral does not hold": flaw.deferred is not None and self._deferral_fails(flaw, flaw.deferred, now),
        }
        return {name for name, holds in facts.items() if holds}

    def _triage_limit(self) -> timedelta:
        return self.settings.triage_days * DAY

    def _undecided(self, flaw: Flaw, now: datetime) -> bool:
        waits = flaw.state == "assessed" and flaw.assessed_at is not None
        return waits and flaw.assessed_at is not None and now >= flaw.assessed_at + self.settings.decision_days * DAY

    def _deferral_fails(self, flaw: Flaw, deferred: Deferred, now: datetime) -> bool:
        if deferred.ended:
            return deferred.past
        over = deferred.last_day is not None and self.settings.day(now) > deferred.last_day
        return over or deferred.by_usage or flaw.item is None or not self.items[flaw.item].deferrable

    def _valid(self, kind: str, now: datetime) -> bool:
        today = self.settings.day(now)
        return any(
            paper.issued <= today and (paper.expires is None or paper.expires >= today)
            for paper in self.papers
            if paper.kind == kind and not paper.withdrawn
        )

    def _rigging_checked(self) -> datetime:
        last = max((walk for walk in self.rig_checks if walk.complete), key=_order, default=None)
        return last.started if last else datetime.min.replace(tzinfo=ZoneInfo("UTC"))

    def _ballast_unknown(self, now: datetime) -> bool:
        """A check of today could not tell, and no complete one has told since."""
        telling = [walk for walk in self.dailies if walk.ballast_known is False or _tells(walk)]
        last = max(telling, key=_order, default=None)
        return last is not None and last.ballast_known is False and self._same_day(last, now)

    def _same_day(self, walk: Walk, now: datetime) -> bool:
        return self.settings.day(walk.completed) == self.settings.day(now)

    def status(self, now: datetime) -> str:
        if self.grounding(now):
            return "grounded"
        return "limited" if self.open_flaws() else "serviceable"

    def ready(self, now: datetime) -> bool:
        """A complete daily inspection of today that knew everything that cancels one."""
        last = max((walk for walk in self.dailies if walk.complete), key=_order, default=None)
        return last is not None and self._same_day(last, now) and not self._cancelled(last)

    def _cancelled(self, daily: Walk) -> bool:
        learned = [(found, known) for found, known in self.occurrences.values()]
        learned += [
            (flaw.found_at, flaw.touched_critical_at) for flaw in self.flaws.values() if flaw.touched_critical_at
        ]
        done = [*self.riggings, *(at for flaw in self.flaws.values() for at in flaw.critical_work_at)]
        unknown_to_it = any(known >= daily.recorded or happened > daily.started for happened, known in learned)
        return unknown_to_it or any(at > daily.started for at in done)


def _order(walk: Walk) -> tuple[datetime, datetime]:
    return walk.completed, walk.recorded


def _tells(walk: Walk) -> bool:
    return walk.complete and walk.ballast_known is True
