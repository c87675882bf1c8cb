"""Where components were: the spans of time in aircraft, directly or inside other components."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from fleet.models import Installation

# The installations of some components and of all that those ever sat in. UNION ends also where two components sat in
# each other at different times.
UPWARDS = """
    WITH RECURSIVE held (component_id) AS (
        SELECT unnest(%s::uuid[])
        UNION
        SELECT i.parent_id FROM fleet_installation i JOIN held USING (component_id) WHERE i.parent_id IS NOT NULL
    )
    SELECT i.* FROM fleet_installation i JOIN held USING (component_id) ORDER BY i.installed_at
"""
Installations = Mapping[UUID, Sequence[Installation]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A component was in an aircraft from one instant (inclusive) to another (exclusive; None: it still is)."""

    aircraft_id: UUID
    since: datetime
    until: datetime | None
    installation_id: UUID | None = None  # of the component itself
    counted_to: datetime | None = None  # end of its previous span in the same aircraft: no line counts twice

    def within(self, since: datetime | None, until: datetime | None) -> "Span | None":
        """The part of it inside another period."""
        begin, end = later(self.since, since), earlier(self.until, until)
        if end is not None and end <= begin:
            return None
        counted = self.counted_to is not None and (since is None or self.counted_to > since)
        return replace(self, since=begin, until=end, counted_to=self.counted_to if counted else None)


def earlier(one: datetime | None, other: datetime | None) -> datetime | None:
    """The earlier of two ends; None is no end."""
    return min((end for end in (one, other) if end is not None), default=None)


def later(one: datetime, other: datetime | None) -> datetime:
    """The later of two beginnings; None is no beginning."""
    return one if other is None else max(one, other)


def _installations(component_ids: Sequence[UUID]) -> Installations:
    found: dict[UUID, list[Installation]] = defaultdict(list)
    for row in Installation.objects.raw(UPWARDS, [list(component_ids)]):
        found[row.component_id].append(row)
    return found


def _overlapping(
    component_id: UUID, since: datetime | None, until: datetime | None, installations: Installations
) -> Iterator[tuple[Installation, datetime, datetime | None]]:
    """Installations of a component in a period, with the part of the period."""
    for one in installations.get(component_id, ()):
        begin, end = later(one.installed_at, since), earlier(one.removed_at, until)
        if end is None or end > begin:
            yield one, begin, end


def _in_aircraft(
    component_id: UUID, begins: datetime | None, ends: datetime | None, installations: Installations
) -> Iterator[tuple[UUID, Installation, datetime, datetime | None]]:
    """Aircraft, the component's own installation, and from when to when. Ends, because nothing is ever inside itself."""
    for one, begin, end in _overlapping(component_id, begins, ends, installations):
        if one.aircraft_id is not None:
            yield one.aircraft_id, one, begin, end
        elif one.parent_id is not None:
            for aircraft_id, _, since, until in _in_aircraft(one.parent_id, begin, end, installations):
                yield aircraft_id, one, since, until


def _spans(component_id: UUID, installations: Installations) -> Iterator[Span]:
    ends: dict[UUID, datetime | None] = {}
    for aircraft_id, one, begin, end in _in_aircraft(component_id, None, None, installations):
        yield Span(
            aircraft_id=aircraft_id,
            since=begin,
            until=end,
            installation_id=one.id,
            counted_to=ends.get(aircraft_id),
        )
        ends[aircraft_id] = end


def spans_of(component_ids: Sequence[UUID]) -> dict[UUID, list[Span]]:
    """Where each component was, oldest first; one query."""
    installations = _installations(component_ids) if component_ids else {}
    return {component_id: list(_spans(component_id, installations)) for component_id in component_ids}


def _holders(
    component_id: UUID, since: datetime, until: datetime | None, installations: Installations
) -> Iterator[UUID]:
    for one, begin, end in _overlapping(component_id, since, until, installations):
        if one.parent_id is not None:
            yield one.parent_id
            yield from _holders(one.parent_id, begin, end, installations)


def holders_of(component_id: UUID, since: datetime) -> set[UUID]:
    """Every component that this one sat in, at any depth, at or after an instant; one query."""
    return set(_holders(component_id, since, None, _installations([component_id])))
