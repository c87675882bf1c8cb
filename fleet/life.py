"""The life of components: where each was and when, and what the aircraft flew meanwhile.

Nothing is carried from installation to installation by hand: the spans in aircraft follow from the installations (also of
the component that a component sits in), and the usage entries that fall into a span are summed. So a flight that is
entered late counts for whatever was installed when it was flown.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection
from django.db.models import Q

from fleet.models import DIMENSIONS, Component, Installation, UsageEntry

Amounts = dict[str, int]
ENTRIES = UsageEntry._meta.db_table
# A line without times counts from the first instant of its day in the club's zone.
COUNTED_AT = "COALESCE(e.takeoff_at, e.flown_on::timestamp AT TIME ZONE c.time_zone)"


@dataclass(frozen=True, slots=True)
class Span:
    """A component was in an aircraft from one instant (inclusive) to another (exclusive; None: it still is)."""

    aircraft_id: UUID
    since: datetime
    until: datetime | None

    def within(self, since: datetime, until: datetime | None) -> "Span | None":
        """The part of it inside another period."""
        ends = [end for end in (self.until, until) if end is not None]
        end, begin = min(ends, default=None), max(self.since, since)
        return None if end is not None and end <= begin else Span(self.aircraft_id, begin, end)


def _installations(component_ids: Iterable[UUID]) -> dict[UUID, list[Installation]]:
    """Installations of the components and, level by level, of those that they sat in."""
    found: dict[UUID, list[Installation]] = {}
    wanted = set(component_ids)
    while wanted:
        rows = Installation.objects.filter(component_id__in=wanted).order_by("installed_at")
        found |= {component_id: [] for component_id in wanted}
        for row in rows:
            found[row.component_id].append(row)
        wanted = {row.parent_id for row in rows if row.parent_id} - set(found)
    return found


def _spans(component_id: UUID, installations: Mapping[UUID, Sequence[Installation]]) -> list[Span]:
    spans: list[Span] = []
    for one in installations[component_id]:
        if one.aircraft_id is not None:
            spans.append(Span(one.aircraft_id, one.installed_at, one.removed_at))
        elif one.parent_id is not None:
            inside = (span.within(one.installed_at, one.removed_at) for span in _spans(one.parent_id, installations))
            spans += [span for span in inside if span is not None]
    return spans


def spans_of(component_ids: Sequence[UUID]) -> dict[UUID, list[Span]]:
    """Where each component was, oldest first; one query for each level of nesting."""
    installations = _installations(component_ids)
    return {component_id: _spans(component_id, installations) for component_id in component_ids}


def flown_in(spans: Sequence[Span]) -> list[Amounts]:
    """What each span's aircraft flew in it; one query for all."""
    if not spans:
        return []
    sums = ", ".join(f"COALESCE(SUM(e.{name}), 0)" for name in DIMENSIONS)
    values = ", ".join("(%s, %s::uuid, %s::timestamptz, %s::timestamptz)" for _ in spans)
    statement = f"""
        SELECT s.place, {sums}
        FROM (VALUES {values}) AS s (place, aircraft_id, since, until)
        JOIN fleet_aircraft a ON a.id = s.aircraft_id
        JOIN fleet_club c ON c.id = a.club_id
        LEFT JOIN {ENTRIES} e ON e.aircraft_id = s.aircraft_id
            AND {COUNTED_AT} >= s.since AND (s.until IS NULL OR {COUNTED_AT} < s.until)
        GROUP BY s.place ORDER BY s.place
    """  # noqa: S608  # column and table names of our own models only
    parameters = [part for place, s in enumerate(spans) for part in (place, s.aircraft_id, s.since, s.until)]
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return [dict(zip(DIMENSIONS, map(int, row[1:]), strict=True)) for row in cursor.fetchall()]


def readings_at(places: Sequence[tuple[UUID, datetime]]) -> list[Amounts]:
    """Totals of aircraft just before given instants."""
    beginning = datetime.fromisoformat("1900-01-01T00:00:00+00:00")
    return flown_in([Span(aircraft_id, beginning, instant) for aircraft_id, instant in places])


def added(*amounts: Mapping[str, int]) -> Amounts:
    """Sum by dimension."""
    return {name: sum(one[name] for one in amounts) for name in DIMENSIONS}


def totals_of(components: Sequence[Component], before: datetime | None = None) -> dict[UUID, Amounts | None]:
    """Time since new of each component in every dimension, now or before an instant; None: the history is not known."""
    spans = spans_of([one.id for one in components])
    cut = [(component_id, s.within(s.since, before)) for component_id, listed in spans.items() for s in listed]
    flat = [(component_id, span) for component_id, span in cut if span is not None]
    flown: dict[UUID, list[Amounts]] = defaultdict(list)
    for (component_id, _span), amounts in zip(flat, flown_in([span for _, span in flat]), strict=True):
        flown[component_id].append(amounts)
    return {one.id: added(one.amounts(), *flown[one.id]) if one.history_known else None for one in components}


def installed_in(aircraft_ids: Sequence[UUID]) -> dict[UUID, list[Installation]]:
    """What is in each aircraft now, also inside other components; one query for each level of nesting."""
    found: dict[UUID, list[Installation]] = {aircraft_id: [] for aircraft_id in aircraft_ids}
    home: dict[UUID, UUID] = {}
    level = Q(aircraft_id__in=aircraft_ids)
    while True:
        rows = list(Installation.objects.filter(level, removed_at=None).select_related("component__kind", "position"))
        if not rows:
            return found
        for row in rows:
            aircraft_id = row.aircraft_id or home[row.parent_id]  # type: ignore[index]  # one of the two is set
            home[row.component_id] = aircraft_id
            found[aircraft_id].append(row)
        level = Q(parent_id__in=[row.component_id for row in rows])
