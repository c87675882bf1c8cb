"""What aircraft flew in spans of time, summed from the usage entries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from django.db import connection

from fleet.life.spans import Span
from fleet.models import DIMENSIONS, UsageEntry

Amounts = dict[str, int]

BEGINNING = datetime(1900, 1, 1, tzinfo=UTC)
TICK = "interval '1 microsecond'"
# When a line was flown. A flight counts at its take-off, an opening balance at the beginning of its day. Of a line without
# times only the day is known, and that it was not recorded before it was flown. A counter-entry lies where its entry does.
LINES = f"""
    SELECT e.*, t.source = 'opening' AS opening, e.corrects_id IS NULL AND k.id IS NULL AS stands,
        d.begins, CASE
            WHEN t.takeoff_at IS NOT NULL OR t.source = 'opening' THEN d.begins + {TICK}
            WHEN t.recorded_at > d.begins THEN LEAST(t.recorded_at, d.ends)
            ELSE d.ends
        END AS ends
    FROM {UsageEntry._meta.db_table} e
    JOIN {UsageEntry._meta.db_table} t ON t.id = COALESCE(e.corrects_id, e.id)
    LEFT JOIN {UsageEntry._meta.db_table} k ON k.corrects_id = e.id
    JOIN fleet_aircraft a ON a.id = e.aircraft_id
    JOIN fleet_club c ON c.id = a.club_id
    CROSS JOIN LATERAL (
        SELECT COALESCE(t.takeoff_at, t.flown_on::timestamp AT TIME ZONE c.time_zone) AS begins,
            (t.flown_on + 1)::timestamp AT TIME ZONE c.time_zone AS ends
    ) d
    WHERE e.aircraft_id = ANY(%s)
"""  # noqa: S608  # names of our own tables only
# What may have been flown in a span counts in it, so a line of a day counts both for what was taken out that day and for
# what was put in: an amount that is uncertain is never told too low.
BEFORE = "(l.ends <= s.since OR l.begins < s.counted_to)"
WITHIN = f"(NOT COALESCE({BEFORE}, false) AND NOT l.opening AND (s.until IS NULL OR l.begins < s.until))"
SUMS = ", ".join(
    f"COALESCE(SUM(l.{name}) FILTER (WHERE {condition}), 0)" for condition in (BEFORE, WITHIN) for name in DIMENSIONS
)
STATEMENT = f"""
    WITH l AS ({LINES})
    SELECT COALESCE(BOOL_OR(l.opening AND l.stands AND l.begins <= s.since), false), {SUMS}
    FROM unnest(%s::uuid[], %s::timestamptz[], %s::timestamptz[], %s::timestamptz[])
        WITH ORDINALITY AS s (aircraft_id, since, until, counted_to, place)
    LEFT JOIN l ON l.aircraft_id = s.aircraft_id
    GROUP BY s.place ORDER BY s.place
"""  # noqa: S608  # names of our own columns only


@dataclass(frozen=True, slots=True, kw_only=True)
class Metered:
    """A span by the aircraft's meter."""

    before: Amounts  # reading at its beginning
    flown: Amounts  # in it
    covered: bool  # an opening balance counts that is not later than its beginning; else it may have flown more


def metered(spans: Sequence[Span]) -> list[Metered]:
    """Reading before each span and what was flown in it; one query for all."""
    if not spans:
        return []
    columns = [[getattr(one, name) for one in spans] for name in ("aircraft_id", "since", "until", "counted_to")]
    with connection.cursor() as cursor:
        cursor.execute(STATEMENT, [list({one.aircraft_id for one in spans}), *columns])
        return [_metered(row) for row in cursor.fetchall()]


def _metered(row: Sequence[int]) -> Metered:
    covered, *sums = row
    before, flown = (
        dict(zip(DIMENSIONS, map(int, part), strict=True))
        for part in (sums[: len(DIMENSIONS)], sums[len(DIMENSIONS) :])
    )
    return Metered(before=before, flown=flown, covered=bool(covered))


def readings_at(places: Sequence[tuple[UUID, datetime]]) -> list[Amounts]:
    """Totals of aircraft as they surely were at given instants."""
    spans = [Span(aircraft_id=aircraft_id, since=at, until=None) for aircraft_id, at in places]
    return [one.before for one in metered(spans)]


def added(*amounts: Mapping[str, int]) -> Amounts:
    """Sum by dimension; unknown where any of them is unknown."""
    return {name: sum(one[name] for one in amounts) for name in DIMENSIONS if all(name in one for one in amounts)}
