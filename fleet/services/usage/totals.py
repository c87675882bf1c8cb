"""The running total of an aircraft. It is known only while an opening balance counts."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Max, Sum

from fleet.airworthiness.limits import end_of_day
from fleet.models import DIMENSIONS, Aircraft, UsageEntry, UsageTotal
from fleet.services.usage.ground import DAY, OPENING, counting_entries


def total_of(aircraft_id: UUID) -> UsageTotal | None:
    """The stored total."""
    return UsageTotal.objects.filter(aircraft_id=aircraft_id).first()


def reaches_to(entry: UsageEntry, time_zone: str) -> datetime:
    """Up to when an entry tells of usage; a day that is not over when it is recorded tells no more than then."""
    if entry.source == OPENING:
        return end_of_day(entry.flown_on - DAY, time_zone)
    return entry.landing_at or min(end_of_day(entry.flown_on, time_zone), entry.recorded_at)


def _latest(entries: Iterable[UsageEntry], time_zone: str) -> datetime:
    return max(reaches_to(entry, time_zone) for entry in entries)


def add(aircraft: Aircraft, entries: Sequence[UsageEntry]) -> UsageTotal | None:
    """Count stored entries of a locked aircraft: the total after them, None while there is no opening balance."""
    total = total_of(aircraft.id)
    if total is None:
        return rebuild(aircraft) if any(entry.source == OPENING for entry in entries) else None
    for name in DIMENSIONS:
        setattr(total, name, getattr(total, name) + sum(getattr(entry, name) for entry in entries))
    total.recorded_to = max(total.recorded_to, _latest(entries, aircraft.club.time_zone))
    total.save()
    return total


def rebuild(aircraft: Aircraft) -> UsageTotal | None:
    """Sum all entries of a locked aircraft anew; without an opening balance the total is gone. A constant number of queries."""
    counting = UsageEntry.objects.filter(counting_entries(aircraft.id))
    if not counting.filter(source=OPENING).exists():
        UsageTotal.objects.filter(aircraft=aircraft).delete()
        return None
    last_day = counting.aggregate(day=Max("flown_on"))["day"]
    # a flight that began the day before may have landed later than anything of the last day
    last = counting.filter(flown_on__gte=last_day - DAY)
    sums = UsageEntry.objects.filter(aircraft=aircraft).aggregate(**{name: Sum(name) for name in DIMENSIONS})
    recorded_to = _latest(last, aircraft.club.time_zone)
    total, _made = UsageTotal.objects.update_or_create(aircraft=aircraft, defaults={**sums, "recorded_to": recorded_to})
    return total
