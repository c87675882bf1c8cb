"""Due computation: intervals, the limits they give when work is signed, and the states that follow from limits.

Usage is in whole minutes and whole numbers, dates are civil dates in the club's time zone.
"""

from fleet.airworthiness.due.civil_months import CalendarRule, add_months, last_of_month
from fleet.airworthiness.due.in_flight import becomes_due_in_flight
from fleet.airworthiness.due.limit import CalendarLimit, Limits, UsageLimit
from fleet.airworthiness.due.measures import CALENDAR, MEASURES, Dimension, Done, Measure, Readings
from fleet.airworthiness.due.schedule import CalendarInterval, Counting, Schedule, UsageInterval
from fleet.airworthiness.due.signing import limits
from fleet.airworthiness.due.state import DueState, Remaining, State, assess
from fleet.airworthiness.due.turning import turns

__all__ = [
    "CALENDAR",
    "MEASURES",
    "CalendarInterval",
    "CalendarLimit",
    "CalendarRule",
    "Counting",
    "Dimension",
    "Done",
    "DueState",
    "Limits",
    "Measure",
    "Readings",
    "Remaining",
    "Schedule",
    "State",
    "UsageInterval",
    "UsageLimit",
    "add_months",
    "assess",
    "becomes_due_in_flight",
    "last_of_month",
    "limits",
    "turns",
]
