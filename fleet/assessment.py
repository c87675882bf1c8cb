"""From facts to the stored verdict, in the caller's transaction.

``fleet`` knows no source of facts by name: every app registers its own, and start-up checks that every field of
``Facts`` is provided exactly once. Every act goes: ``lock`` the aircraft, check, write, ``conclude``.

What time alone changes is replayed at the very instant at which it turned, not when somebody noticed: a verdict that
ran out is followed by the one that held from its ``valid_until`` on. So the periods always say what was shown.
"""

import dataclasses
import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from fleet import events, periods
from fleet.airworthiness.evaluate import evaluate, unassessable
from fleet.airworthiness.facts import Facts
from fleet.airworthiness.verdict import Reason, Status, Verdict
from fleet.errors import NotFound
from fleet.models import Aircraft, AirworthinessState
from fleet.periods import SHOWN, Segments, shown_values

log = logging.getLogger(__name__)

Gather = Callable[[Sequence[UUID], datetime], Mapping[UUID, Mapping[str, Any]]]
_SOURCES: dict[str, tuple[frozenset[str], Gather]] = {}


class SourcesIncomplete(RuntimeError):
    """A field of ``Facts`` has no source or two of them; the service must not start."""


def register(name: str, *, provides: Iterable[str], gather: Gather) -> None:
    """Called from an app's ``ready``: ``gather(aircraft_ids, at)`` returns the named fields for every id asked for.

    ``at`` is the earliest instant that will be evaluated with these facts. A constant number of queries.
    """
    _SOURCES[name] = (frozenset(provides), gather)


def check_sources() -> None:
    """Every field of ``Facts`` comes from exactly one source."""
    wanted = {field.name for field in dataclasses.fields(Facts)} - {"aircraft_id"}
    given = [name for provides, _ in _SOURCES.values() for name in provides]
    if sorted(given) != sorted(wanted):
        wrong = (set(given) ^ wanted) | {name for name in given if given.count(name) > 1}
        raise SourcesIncomplete(f"facts without a source or with two: {sorted(wrong)}")


def gather_facts(aircraft_ids: Sequence[UUID], at: datetime) -> dict[UUID, Facts]:
    """Facts of all the aircraft from all sources."""
    parts: dict[UUID, dict[str, Any]] = {aircraft_id: {} for aircraft_id in aircraft_ids}
    for _provides, gather in _SOURCES.values():
        for aircraft_id, values in gather(aircraft_ids, at).items():
            parts[aircraft_id].update(values)
    return {aircraft_id: Facts(aircraft_id=str(aircraft_id), **values) for aircraft_id, values in parts.items()}


def _safely_gathered(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Facts | Exception]:
    """Facts, or per aircraft the error that kept them from being gathered: one poisoned row must not hide the others."""
    try:
        with transaction.atomic():
            return gather_facts(aircraft_ids, at)
    except Exception as error:
        if len(aircraft_ids) == 1:
            log.exception("facts could not be gathered", extra={"aircraft": str(aircraft_ids[0])})
            return {aircraft_ids[0]: error}
    return {one: found for each in aircraft_ids for one, found in _safely_gathered([each], at).items()}


def _judge(aircraft_id: UUID, facts: Facts | Exception, at: datetime) -> Verdict:
    if isinstance(facts, Exception):
        return unassessable(str(aircraft_id), at, facts)
    try:
        verdict = evaluate(facts, at)
    except Exception as error:
        log.exception("the rules could not be evaluated", extra={"aircraft": str(aircraft_id)})
        return unassessable(str(aircraft_id), at, error)
    for described in verdict.errors:
        log.error("a rule failed: %s", described, extra={"aircraft": str(aircraft_id)})
    return verdict


def assess(aircraft_ids: Sequence[UUID], at: datetime) -> dict[UUID, Verdict]:
    """Verdicts from the facts as they are now; nothing is stored."""
    gathered = _safely_gathered(aircraft_ids, at)
    return {aircraft_id: _judge(aircraft_id, facts, at) for aircraft_id, facts in gathered.items()}


def _turns(state: AirworthinessState, facts: Facts | Exception, at: datetime) -> Segments:
    """The verdicts that followed the stored one by time alone, each with the instant from which it held, up to ``at``."""
    segments: Segments = []
    turn = state.valid_until
    while turn is not None and turn <= at:
        verdict = _judge(state.aircraft_id, facts, turn)
        segments.append((turn, verdict))
        turn = verdict.valid_until if not verdict.errors or turn == at else at
    return segments


def shown_at(state: AirworthinessState, at: datetime) -> dict[str, Any]:
    """What a look at ``at`` shows: the stored verdict, or the one that followed it if that has run out."""
    if not _has_run_out(state, at):
        return {name: getattr(state, name) for name in SHOWN}
    return shown_many([state], at)[state.aircraft_id]


def shown_many(expired: Sequence[AirworthinessState], at: datetime) -> dict[UUID, dict[str, Any]]:
    """The same for many states that have run out; a constant number of queries."""
    if not expired:
        return {}
    earliest = min(state.valid_until for state in expired if state.valid_until)
    gathered = _safely_gathered([state.aircraft_id for state in expired], earliest)
    return {state.aircraft_id: shown_values(_turns(state, gathered[state.aircraft_id], at)[-1][1]) for state in expired}


def turned(state: AirworthinessState, at: datetime) -> list[tuple[datetime, dict[str, Any]]]:
    """What has followed the stored verdict by time alone up to ``at``: since when, and what a look shows since then."""
    if state.valid_until is None or state.valid_until > at:
        return []
    facts = _safely_gathered([state.aircraft_id], state.valid_until)[state.aircraft_id]
    return [(turn, shown_values(verdict)) for turn, verdict in _turns(state, facts, at)]


def lock(aircraft_id: UUID | str, *, club_id: UUID, at: datetime) -> Aircraft:
    """Lock the aircraft's row and bring its record up to ``at``. Another club's aircraft is not there."""
    found = lock_many(Aircraft.objects.filter(id=aircraft_id, club_id=club_id), at=at)
    if not found:
        raise NotFound("aircraft_not_found", "There is no such aircraft in your club.")
    return found[0]


def lock_many(queryset: Any, *, at: datetime) -> list[Aircraft]:
    """Lock aircraft in the order of their ids (no deadlock) and bring their records up to ``at``."""
    ids = list(queryset.order_by("id").select_for_update(of=("self",)).values_list("id", flat=True))
    # a second statement: after a wait for the lock, joined rows of the first would be older than the lock
    locked = Aircraft.objects.filter(id__in=ids).order_by("id")
    fleet = list(locked.select_related("club", "aircraft_type", "airworthiness", "event_chain"))
    _catch_up([one for one in fleet if _has_run_out(one.airworthiness, at)], at)
    return fleet


def _has_run_out(state: AirworthinessState, at: datetime) -> bool:
    return state.valid_until is not None and state.valid_until <= at


def _catch_up(expired: Sequence[Aircraft], at: datetime) -> None:
    if not expired:
        return
    earliest = min(one.airworthiness.valid_until for one in expired if one.airworthiness.valid_until)
    gathered = _safely_gathered([one.id for one in expired], earliest)
    periods.store({one: _turns(one.airworthiness, gathered[one.id], at) for one in expired}, {})


def conclude(
    aircraft: Sequence[Aircraft], *, at: datetime, entries: Mapping[UUID, Sequence[events.Entry]] | None = None
) -> dict[UUID, Verdict]:
    """End of an act: record its entries, judge the aircraft anew and store verdict, period and event.

    The aircraft are locked. Judged at the later of ``at`` and the last stored instant, so that a clock that lags
    behind another server's never rewrites what was shown.
    """
    instants = {one.id: max(at, one.airworthiness.assessed_at) for one in aircraft}
    gathered = _safely_gathered([one.id for one in aircraft], min(instants.values(), default=at))
    verdicts = {one.id: _judge(one.id, gathered[one.id], instants[one.id]) for one in aircraft}
    periods.store({one: [(instants[one.id], verdicts[one.id])] for one in aircraft}, entries or {})
    return verdicts


def begin(aircraft: Aircraft, *, at: datetime, entries: Sequence[events.Entry]) -> Verdict:
    """First assessment of a new aircraft."""
    verdict = assess([aircraft.id], at)[aircraft.id]
    periods.open_first(aircraft, verdict, at=at, entries=entries)
    return verdict


def due_for_reassessment(at: datetime) -> Q:
    """Which aircraft time has changed: by the stored instant alone."""
    return Q(airworthiness__valid_until__lte=at)


__all__ = [
    "SHOWN",
    "Facts",
    "Reason",
    "Status",
    "Verdict",
    "assess",
    "begin",
    "check_sources",
    "conclude",
    "due_for_reassessment",
    "gather_facts",
    "lock",
    "lock_many",
    "register",
    "shown_at",
    "shown_many",
    "shown_values",
    "turned",
]
