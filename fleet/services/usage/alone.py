"""What cannot be right about a line of usage whatever the others say."""

from collections.abc import Iterator
from datetime import date, timedelta

from fleet.airworthiness.flying_day import flying_day
from fleet.flights import MINUTE, whole_minutes
from fleet.services.usage.ground import Ground
from fleet.services.usage.lines import COUNTED, Line

DAY_MINUTES = 24 * 60
MOST_IN_A_LINE = DAY_MINUTES  # of anything: one a minute, day and night
MOST_IN_OPENING = 10_000_000
FIRST_DAY = date(1900, 1, 1)  # nothing flew before; an earlier day is a typing error

Found = tuple[str, str, str]  # field, code, what to do


def found_in(line: Line, known: Ground) -> Iterator[Found]:
    """Everything wrong with a settled line by itself."""
    for check in (_amounts, _times, _day, _opening if known.opening else _flying):
        yield from check(line, known)


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
