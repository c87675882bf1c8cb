"""What cannot be right about lines of usage: every problem of every line, not only the first."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Max, Min, Q

from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.sentences import hours
from fleet.errors import FieldError, Invalid
from fleet.flights import MINUTE, whole_minutes
from fleet.models import Aircraft, UsageEntry
from fleet.services.instants import CLOCK_SKEW
from fleet.services.usage.lines import COUNTED, Line

OPENING = UsageEntry.Source.OPENING
DAY_MINUTES = 24 * 60
MOST_IN_A_LINE = DAY_MINUTES  # of anything: one a minute, day and night
MOST_IN_OPENING = 10_000_000
DAY = timedelta(days=1)
FIRST_DAY = date(1900, 1, 1)  # nothing flew before; an earlier day is a typing error

Found = tuple[str, str, str]  # field, code, what to do


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one line: its place among the lines, the field, a stable code, what to do."""

    index: int
    field: str
    code: str
    detail: str


class LinesRefused(Invalid):
    """Lines that cannot be right; nothing was recorded. Pointers lead into ``entries``, or to the only entry."""

    def __init__(self, problems: Sequence[Problem], *, alone: bool = False) -> None:
        self.problems = tuple(problems)
        errors = tuple(
            FieldError(f"/{one.field}" if alone else f"/entries/{one.index}/{one.field}", one.code, one.detail)
            for one in problems
        )
        super().__init__("invalid", errors[0].detail, errors)

    def of_one(self) -> "LinesRefused":
        """The same for somebody who sent a single entry."""
        return LinesRefused(self.problems, alone=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What lines are checked against. ``entries``: those that count, around the days of the lines."""

    time_zone: str
    at: datetime
    source: str
    opening: bool
    opened_on: date | None
    first_on: date | None
    entries: Sequence[UsageEntry]
    latest: datetime = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "latest", self.at + CLOCK_SKEW)


def counting_entries(aircraft_id: UUID) -> Q:
    """Entries of an aircraft that are neither corrected nor corrections."""
    return Q(aircraft_id=aircraft_id, corrects=None, corrected_by=None)


def ground(aircraft: Aircraft, lines: Sequence[Line], *, source: str, at: datetime) -> Ground:
    """Read what the lines are checked against; two queries."""
    rows = UsageEntry.objects.filter(counting_entries(aircraft.id))
    ends = rows.aggregate(
        opened_on=Max("flown_on", filter=Q(source=OPENING)), first_on=Min("flown_on", filter=~Q(source=OPENING))
    )
    days = [line.flown_on for line in lines if line.flown_on is not None]
    near = rows.filter(flown_on__range=(_before(min(days)), _after(max(days)))).exclude(source=OPENING) if days else ()
    return Ground(
        time_zone=aircraft.club.time_zone, at=at, source=source, opening=source == OPENING, entries=list(near), **ends
    )


def _before(day: date) -> date:
    return day - DAY if day > date.min else day


def _after(day: date) -> date:
    return day + DAY if day < date.max else day


def problems(lines: Sequence[Line], known: Ground) -> list[Problem]:
    """Everything wrong with settled lines, in their order."""
    alone = [
        Problem(index, *found)
        for index, line in enumerate(lines)
        for check in (_amounts, _times, _day, _opening if known.opening else _flying)
        for found in check(line, known)
    ]
    together = _more_than_one(lines) if known.opening else (*_full_days(lines, known), *_overlaps(lines, known))
    return sorted((*alone, *together), key=lambda one: one.index)


def _amounts(line: Line, known: Ground) -> Iterator[Found]:
    most = MOST_IN_OPENING if known.opening else MOST_IN_A_LINE
    for name in COUNTED:
        amount = getattr(line, name)
        if amount is None:
            yield name, "required", "Give the minutes, or take-off and landing."
        elif amount < 0:
            yield name, "negative", "Usage is never negative. A wrong entry is corrected by a counter-entry."
        elif amount > most:
            yield name, "too_large", f"At most {most} can be right here."
    if not known.opening and not any(getattr(line, name) for name in COUNTED):
        yield "airframe_minutes", "empty", "This entry counts nothing."


def _times(line: Line, known: Ground) -> Iterator[Found]:
    takeoff, landing = line.takeoff_at, line.landing_at
    if takeoff is None and landing is None:
        return
    if takeoff is None or landing is None:
        missing = "takeoff_at" if takeoff is None else "landing_at"
        yield missing, "pair", "Give take-off and landing, or neither."
        return
    if landing <= takeoff:
        yield "landing_at", "out_of_order", "The landing does not lie after the take-off."
        return
    if landing > known.latest:
        yield "landing_at", "in_future", "This lies in the future. Record a flight when it is over."
    yield from _length(line, landing - takeoff)


def _length(line: Line, span: timedelta) -> Iterator[Found]:
    """The minutes said are those between the times, rounded half up; whoever rounds up always is right as well."""
    said, flown = line.airframe_minutes, whole_minutes(span)
    if said is None:
        return
    if said < flown:
        yield "airframe_minutes", "too_short", f"From take-off to landing it flew {flown} minutes, not {said}."
    elif said > -(-span // MINUTE):
        yield "airframe_minutes", "too_long", f"From take-off to landing it flew {flown} minutes, not {said}."


def _day(line: Line, known: Ground) -> Iterator[Found]:
    if line.flown_on is None:
        yield "flown_on", "required", "Give the day, or take-off and landing."
    elif line.flown_on > flying_day(known.latest, known.time_zone):
        yield "flown_on", "in_future", "This day has not come yet."
    elif line.flown_on < FIRST_DAY:
        yield "flown_on", "too_early", "Check the year."
    elif line.takeoff_at is not None and line.flown_on != flying_day(line.takeoff_at, known.time_zone):
        yield "flown_on", "other_day", "A flight counts on the day of its take-off in the club's time zone."


def _flying(line: Line, known: Ground) -> Iterator[Found]:
    if line.airframe_minutes and line.launches == 0:
        yield "winch_launches", "launch_missing", "Nothing flies without a launch: say which kind, and how many."
    if known.opened_on is not None and line.flown_on is not None and line.flown_on < known.opened_on:
        day = known.opened_on.isoformat()
        yield (
            "flown_on",
            "before_opening",
            f"The opening balance of {day} already holds what was flown before that day.",
        )


def _opening(line: Line, known: Ground) -> Iterator[Found]:
    if known.opened_on is not None:
        detail = f"There is an opening balance of {known.opened_on.isoformat()}. Correct that first if it is wrong."
        yield "source", "opening_exists", detail
    if line.takeoff_at is not None or line.landing_at is not None:
        yield (
            "takeoff_at",
            "not_a_flight",
            "An opening balance is what had been flown when its day began: leave times out.",
        )
    if known.first_on is not None and line.flown_on is not None and line.flown_on > known.first_on:
        day = known.first_on.isoformat()
        yield (
            "flown_on",
            "after_first_entry",
            f"Flying is recorded from {day} on: give the balance of that day or before.",
        )


def _more_than_one(lines: Sequence[Line]) -> Iterator[Problem]:
    for index in range(1, len(lines)):
        yield Problem(index, "source", "one_opening", "An aircraft has one opening balance.")


def _full_days(lines: Sequence[Line], known: Ground) -> Iterator[Problem]:
    """No day has more than 24 hours of flying, or of a running engine."""
    for name in ("airframe_minutes", "engine_minutes"):
        sums: dict[date, int] = defaultdict(int)
        for entry in known.entries:
            sums[entry.flown_on] += getattr(entry, name)
        for index, line in enumerate(lines):
            amount = getattr(line, name)
            if line.flown_on is None or amount is None or not 0 < amount <= MOST_IN_A_LINE:
                continue
            sums[line.flown_on] += amount
            if sums[line.flown_on] > DAY_MINUTES:
                total = hours(sums[line.flown_on])
                yield Problem(
                    index, name, "more_than_a_day", f"With this, {line.flown_on.isoformat()} comes to {total}."
                )


def _overlaps(lines: Sequence[Line], known: Ground) -> Iterator[Problem]:
    """An aircraft makes one flight at a time: none begins before the one before it has landed."""
    spans = [(*times, index) for index, line in enumerate(lines) if (times := line.times()) is not None]
    recorded = [
        (entry.takeoff_at, entry.landing_at, -1) for entry in known.entries if entry.takeoff_at and entry.landing_at
    ]
    until: datetime | None = None
    holder = -1
    for takeoff, landing, index in sorted((*spans, *recorded)):
        if until is not None and takeoff < until and max(index, holder) >= 0:
            common = f"{takeoff:%Y-%m-%d %H:%M} to {min(landing, until):%H:%M} UTC"
            yield _overlap(max(index, holder), against=min(index, holder), common=common)
        if until is None or landing > until:
            until, holder = landing, index


def _overlap(index: int, *, against: int, common: str) -> Problem:
    whom = "a flight that is recorded already" if against < 0 else f"entry {against + 1} of these"
    return Problem(index, "takeoff_at", "overlap", f"This overlaps with {whom} ({common}).")
