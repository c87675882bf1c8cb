"""What defects tell the rules. A constant number of queries for any number of aircraft."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from defects import tallies
from defects.lifecycle import OPEN_STATES
from defects.models import Defect, Deferral, DeferralEnd, Rectification
from fleet.airworthiness.facts import (
    Assessment,
    Cancellation,
    DefectFact,
    DefectState,
    DeferralFact,
    ItemFact,
    ItemFailures,
)
from fleet.airworthiness.limits import end_of_day
from fleet.models import Item

PROVIDES = ("defects", "item_failures")


def item_fact(item: Item) -> ItemFact:
    """The item as it is classified now, not as it was when the defect was found."""
    return ItemFact(
        code=item.code,
        title=item.title,
        critical=item.critical,
        deferrable=item.deferrable,
    )


def _end(deferral: Deferral) -> DeferralEnd | None:
    return getattr(deferral, "end", None)


def deferral_fact(deferral: Deferral, time_zone: str) -> DeferralFact:
    """A deferral with the instant at which its date limit ends."""
    end = _end(deferral)
    return DeferralFact(
        id=str(deferral.id),
        until_at=end_of_day(deferral.until_date, time_zone) if deferral.until_date else None,
        until_date=deferral.until_date,
        until_minutes=deferral.until_minutes,
        until_launches=deferral.until_launches,
        limitations=tuple(deferral.limitations),
        in_force=end is None,
        ended_expired=end is not None and end.past_limit,
    )


def _inspection_outcome(rectification: Rectification | None) -> Any:
    check = getattr(rectification, "independent_inspection", None)
    return check.outcome if check else None


def defect_fact(defect: Defect) -> DefectFact:
    """One open defect; relations must be selected (see ``open_defects``)."""
    time_zone = defect.aircraft.club.time_zone
    return DefectFact(
        id=str(defect.id),
        number=defect.number,
        description=defect.description,
        state=cast(DefectState, defect.state),
        item=item_fact(defect.item) if defect.item else None,
        reported_at=defect.reported_at,
        assessed_at=defect.assessed_at,
        assessment=cast(Assessment, defect.assessment) if defect.assessment else None,
        deferral=deferral_fact(defect.deferral, time_zone) if defect.deferral else None,
        work_unreleased=defect.rectification is not None,
        independent_inspection=_inspection_outcome(defect.rectification),
    )


def _open(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, tuple[DefectFact, ...]]:
    found: dict[UUID, list[DefectFact]] = defaultdict(list)
    for defect in (
        Defect.objects.filter(aircraft_id__in=aircraft_ids, state__in=OPEN_STATES)
        .select_related(
            "aircraft__club",
            "item",
            "deferral__end",
            "rectification__independent_inspection",
        )
        .order_by("aircraft_id", "number")
    ):
        found[defect.aircraft_id].append(defect_fact(defect))
    return {aircraft_id: tuple(listed) for aircraft_id, listed in found.items()}


def _failures(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, tuple[ItemFailures, ...]]:
    """Items that failed at least as often as the club's setting asks, inside its days before ``at`` or since."""
    rows = tallies.failures(aircraft_ids, at)
    items = (
        {item.id: item_fact(item) for item in Item.objects.filter(id__in={row.item_id for row in rows})} if rows else {}
    )
    found: dict[UUID, list[ItemFailures]] = defaultdict(list)
    for row in rows:
        # flight numbers come with the usage record; until then they are unknown and only the days count
        failures = ItemFailures(
            item=items[row.item_id],
            failed_at=tuple(row.failed_at),
            failed_flights=(None,) * len(row.failed_at),
        )
        found[row.aircraft_id].append(failures)
    return {aircraft_id: tuple(sorted(listed, key=lambda one: one.item.code)) for aircraft_id, listed in found.items()}


def cancellations(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, Sequence[Cancellation]]:
    """The latest defect on a critical (or unknown) item and the latest work on one, whatever became of them.

    One query. The app that knows the daily inspections asks for them.
    """
    found: dict[UUID, list[Cancellation]] = defaultdict(list)
    for row in tallies.cancelling(aircraft_ids):
        found[row.aircraft_id].append(
            Cancellation(kind=row.kind, happened_at=row.happened_at, recorded_at=row.recorded_at)
        )
    return found


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """Two queries, three when an item has failed repeatedly."""
    open_defects, failures = _open(aircraft_ids), _failures(aircraft_ids, at)
    return {
        aircraft_id: {
            "defects": open_defects.get(aircraft_id, ()),
            "item_failures": failures.get(aircraft_id, ()),
        }
        for aircraft_id in aircraft_ids
    }
