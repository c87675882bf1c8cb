"""Limits by calendar: ends of days, intervals for deferred defects, reporting deadlines."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

# Consecutive calendar days after the day of discovery (FAA MMEL Policy Letter 25; the same in CS MMEL).
# Category A has no default: its days stand in the remarks of the item.
CATEGORY_DAYS: Mapping[str, int] = MappingProxyType({"B": 3, "C": 10, "D": 120})

OCCURRENCE_REPORT_WITHIN = timedelta(hours=72)  # Regulation (EU) 376/2014, Article 4(7)


def end_of_day(day: date, time_zone: str) -> datetime:
    """First instant, in UTC, at which ``day`` is over in the time zone (IANA name): what ends with a day ends here.

    Raises what ``zoneinfo`` raises for an unknown zone, and OverflowError for the last representable days.
    """
    # Where clocks are put forward at midnight, 00:00 does not exist: fold=0 reads it with the offset before the
    # change, which is the very instant of the change. Where 00:00 comes twice, fold=0 is the first of the two.
    midnight = datetime.combine(day + timedelta(days=1), time(), tzinfo=ZoneInfo(time_zone))
    return midnight.astimezone(UTC)


def deferral_deadline(recorded_on: date, category: str, days: int | None = None) -> date:
    """Last day on which a defect recorded on ``recorded_on`` may be flown with; the day of discovery is excluded.

    Category A needs ``days``; B, C and D have fixed intervals and refuse it. Raises ValueError saying what to do.
    Source: FAA MMEL Policy Letter 25; CS MMEL.105.
    """
    return recorded_on + timedelta(days=_interval_days(category, days))


def _interval_days(category: str, days: int | None) -> int:
    if category == "A":
        if days is None or days < 1:
            raise ValueError("Category A has no default interval: give the days stated in the remarks, at least 1.")
        return days
    if category not in CATEGORY_DAYS:
        raise ValueError(f"Unknown category {category!r}: use A, B, C or D.")
    if days is not None:
        raise ValueError(f"Category {category} has a fixed interval: leave the days out, or use category A.")
    return CATEGORY_DAYS[category]


def occurrence_report_deadline(aware_at: datetime) -> datetime:
    """Instant by which an occurrence must be reported by who became aware of it at ``aware_at`` (aware instant)."""
    if aware_at.utcoffset() is None:
        raise ValueError("The instant has no time zone: give one with an offset.")
    return aware_at.astimezone(UTC) + OCCURRENCE_REPORT_WITHIN
