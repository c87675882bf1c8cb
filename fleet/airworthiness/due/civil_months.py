"""Civil months: counted from one date to another, never in steps.

Clipping as in Regulation (EEC, Euratom) 1182/71, Article 3(2)(c); the calendar month as in 14 CFR 91.409.
"""

from calendar import monthrange
from datetime import date, timedelta
from enum import StrEnum


class CalendarRule(StrEnum):
    """How a number of calendar units is counted."""

    DAYS = "days"
    MONTHS = "months"  # the same day of the month, or that month's last day if it has no such day
    CALENDAR_MONTHS = "calendar_months"  # to the last day of the month


def add_months(day: date, months: int) -> date:
    """The same day of the month so many months later (or earlier, if negative), clipped to the end of that month.

    Steps do not add up: 31 January and one month and one month is 28 March, and two months is 31 March. So count
    all months from the first date at once. Raises ValueError outside the years 1 to 9999.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not date.min.year <= year <= date.max.year:
        raise ValueError(f"{months} months from {day} are outside the calendar: correct the date or the interval.")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def last_of_month(day: date) -> date:
    """The last day of the month."""
    return day.replace(day=monthrange(day.year, day.month)[1])


def later(day: date, months: int, units: int, rule: CalendarRule) -> date:
    """``units`` of a rule after the point that lies ``months`` after ``day``; earlier, if negative."""
    if rule is CalendarRule.DAYS:
        return add_months(day, months) + timedelta(days=units)
    reached = add_months(day, months + units)
    return last_of_month(reached) if rule is CalendarRule.CALENDAR_MONTHS else reached
