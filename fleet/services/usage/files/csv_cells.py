"""Cells of a table of usage. What cannot be read is refused with what to write instead; nothing is guessed."""

import re
import unicodedata
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from fleet.services.usage.files.parsed import quoted

LONGEST_REMARK = 2000
FIRST_YEAR, LAST_YEAR = 1900, 9000  # others are typing errors
ISO_DAY = re.compile(r"(\d{4})-(\d\d)-(\d\d)", re.ASCII)
DOTTED_DAY = re.compile(r"(\d\d?)\.(\d\d?)\.(\d{4})", re.ASCII)
MOMENT = re.compile(ISO_DAY.pattern + r"[T ]\d\d:\d\d", re.ASCII)
CLOCK = re.compile(r"(\d\d?):(\d\d)(?::(\d\d))?", re.ASCII)
WHOLE = re.compile(r"\d{1,7}", re.ASCII)
HOURS_AND_MINUTES = re.compile(r"(\d{1,5}):([0-5]\d)", re.ASCII)


class Unreadable(ValueError):
    """The sentence says what is wrong, and how to write it."""


def whole(cell: str) -> int:
    """A whole number."""
    if cell.startswith("-"):
        raise Unreadable(f"{quoted(cell)} is negative; usage never is.")
    if not WHOLE.fullmatch(cell):
        raise Unreadable(f"{quoted(cell)} is no whole number.")
    return int(cell)


def minutes(cell: str) -> int:
    """Whole minutes, or hours and minutes: 107 or 1:47. Hours with a decimal point are refused: 1.45 is 1:27."""
    parts = HOURS_AND_MINUTES.fullmatch(cell)
    if parts:
        return int(parts[1]) * 60 + int(parts[2])
    try:
        return whole(cell)
    except Unreadable as error:
        raise Unreadable(f"{quoted(cell)} is neither whole minutes (107) nor hours and minutes (1:47).") from error


def day(cell: str) -> date:
    """A date: 2025-05-14 or 14.05.2025."""
    iso, dotted = ISO_DAY.fullmatch(cell), DOTTED_DAY.fullmatch(cell)
    parts = iso.groups() if iso else dotted.groups()[::-1] if dotted else None
    if parts is None:
        raise Unreadable(f"{quoted(cell)} is no date like 2025-05-14 or 14.05.2025.")
    try:
        return date(*map(int, parts))
    except ValueError as error:
        raise Unreadable(f"{quoted(cell)} is no day of the calendar.") from error


def instant(cell: str, day_cell: str, time_zone: str) -> datetime:
    """A time of day in the club's zone on the row's date, or a date and time, with or without its offset from UTC."""
    found = _read(cell, day_cell)
    if not FIRST_YEAR <= found.year < LAST_YEAR:
        raise Unreadable(f"{quoted(cell)}: check the year.")
    return found if found.utcoffset() is not None else _located(found, cell, time_zone)


def _read(cell: str, day_cell: str) -> datetime:
    clock = CLOCK.fullmatch(cell)
    if clock is None and not MOMENT.match(cell):
        raise Unreadable(f"{quoted(cell)} is no time like 10:05 or 2025-05-14T10:05.")
    try:
        if clock is None:
            return datetime.fromisoformat(cell)
        return datetime.combine(day(day_cell), time.fromisoformat(_clock(*clock.groups("00"))))
    except Unreadable:
        raise
    except ValueError as error:
        raise Unreadable(f"{quoted(cell)} is no time of a clock.") from error


def _clock(hours: str, minutes: str, seconds: str) -> str:
    return f"{hours:0>2}:{minutes}:{seconds}"


def _located(local: datetime, cell: str, time_zone: str) -> datetime:
    """Where clocks are changed, an hour comes twice or not at all: then only the offset tells which instant is meant."""
    zone = ZoneInfo(time_zone)
    early, late = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if early.utcoffset() != late.utcoffset():
        raise Unreadable(f"{quoted(cell)}: clocks are changed then. Write it with its offset: 2025-10-26T02:30+02:00.")
    return early


def remark(cell: str) -> str:
    """Text on one line."""
    text = " ".join(cell.split())
    if len(text) > LONGEST_REMARK:
        raise Unreadable(f"the text is longer than {LONGEST_REMARK} characters.")
    if any(unicodedata.category(character) == "Cc" for character in text):
        raise Unreadable("the text holds control characters.")
    return text
