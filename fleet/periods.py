"""Writing what is shown: the stored verdict, its period and the event of a change, for any number of locked aircraft.

The stored verdict equals the open period; ``shown_from`` ties the two. A constant number of statements.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Case, DateTimeField, Value, When

from fleet import events
from fleet.airworthiness.verdict import Verdict, as_json
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod

TICK = timedelta(microseconds=1)  # resolution of an instant in the database
SHOWN = ("status", "ready_today", "reasons", "limitations", "open_defects", "next_due")

Segments = list[tuple[datetime, Verdict]]  # since when, and what


def shown_values(verdict: Verdict) -> dict[str, Any]:
    """The columns of a shown verdict."""
    due = verdict.next_due
    subject = due and {"type": due.subject_type, "id": due.subject_id}
    return {
        "status": verdict.status.code,
        "ready_today": verdict.ready_today,
        "reasons": [as_json(reason) for reason in verdict.reasons],
        "limitations": list(verdict.limitations),
        "open_defects": verdict.open_defects,
        "next_due": due and {"title": due.title, "on": due.on.isoformat(), "subject": subject},
    }


def store(segments: Mapping[Aircraft, Segments], entries: Mapping[UUID, Sequence[events.Entry]]) -> None:
    """Move each aircraft's stored verdict through its segments; ``entries`` by aircraft id come first in its chain."""
    to_record: dict[Any, list[events.Entry]] = {}
    stored_ends: dict[UUID, datetime] = {}
    opened: list[AssessmentPeriod] = []
    for aircraft, parts in segments.items():
        fresh, changes = _follow(aircraft.airworthiness, parts)
        if fresh:
            stored_ends[aircraft.id] = fresh[0].shown_from
        opened += fresh
        to_record[aircraft.event_chain] = [*entries.get(aircraft.id, ()), *changes]
    _close(stored_ends)
    AssessmentPeriod.objects.bulk_create(opened)
    _overwrite([aircraft.airworthiness for aircraft in segments])
    events.append(to_record)


def _overwrite(states: Sequence[AirworthinessState]) -> None:
    """The rows are there and locked with their aircraft: an upsert costs a tenth of a bulk update, whose CASE grows with them."""
    columns = [*SHOWN, "assessed_at", "shown_from", "valid_until"]
    AirworthinessState.objects.bulk_create(
        states, update_conflicts=True, unique_fields=["aircraft"], update_fields=columns
    )


def _close(ends: Mapping[UUID, datetime]) -> None:
    if not ends:
        return
    by_end: dict[datetime, list[UUID]] = defaultdict(list)  # in a sweep nearly all end with the flying day
    for aircraft_id, end in ends.items():
        by_end[end].append(aircraft_id)
    cases = [When(aircraft_id__in=ids, then=Value(end)) for end, ids in by_end.items()]
    open_ones = AssessmentPeriod.objects.filter(aircraft_id__in=list(ends), shown_to=None)
    open_ones.update(shown_to=Case(*cases, output_field=DateTimeField()))


def _follow(state: AirworthinessState, parts: Segments) -> tuple[list[AssessmentPeriod], list[events.Entry]]:
    """Move the state through the segments in memory: the periods that begin, each closed by its successor, and events."""
    fresh: list[AssessmentPeriod] = []
    changes: list[events.Entry] = []
    for instant, verdict in parts:
        before = {name: getattr(state, name) for name in SHOWN}
        values = shown_values(verdict)
        state.assessed_at, state.valid_until = instant, verdict.valid_until
        if before == values:
            continue
        # two acts may share an instant; a period is never empty
        state.shown_from = max(instant, state.shown_from + TICK)
        for name, value in values.items():
            setattr(state, name, value)
        if fresh:
            fresh[-1].shown_to = state.shown_from
        fresh.append(AssessmentPeriod(aircraft_id=state.aircraft_id, shown_from=state.shown_from, **values))
        changes += _change(before, state)
    return fresh, changes


def _change(before: Mapping[str, Any], state: AirworthinessState) -> list[events.Entry]:
    if (before["status"], before["ready_today"]) == (state.status, state.ready_today):
        return []
    data = {
        "status_before": before["status"],
        "status": state.status,
        "ready_today": state.ready_today,
        "rules": sorted({reason["rule"] for reason in state.reasons}),
    }
    return [
        events.Entry(
            kind="airworthiness_changed",
            at=state.shown_from,
            by=None,
            subject_type="aircraft",
            subject_id=state.aircraft_id,
            data=data,
        )
    ]


def open_first(aircraft: Aircraft, verdict: Verdict, *, at: datetime, entries: Sequence[events.Entry]) -> None:
    """The first stored verdict, period and chain of a new aircraft."""
    values = shown_values(verdict)
    chain = events.open_chain(aircraft)
    AirworthinessState.objects.create(
        aircraft=aircraft, assessed_at=at, shown_from=at, valid_until=verdict.valid_until, **values
    )
    AssessmentPeriod.objects.create(aircraft=aircraft, shown_from=at, **values)
    events.append({chain: entries})
