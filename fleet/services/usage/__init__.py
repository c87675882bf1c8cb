"""Usage: recording it, correcting it, reading it from files."""

from fleet.services.usage.check import LinesRefused, Problem
from fleet.services.usage.correct import correct
from fleet.services.usage.entries import Recorded, record
from fleet.services.usage.lines import Line

__all__ = ["Line", "LinesRefused", "Problem", "Recorded", "correct", "record"]
