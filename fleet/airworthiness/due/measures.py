"""In what a limit is counted: usage in whole numbers, and the calendar."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final, Literal


class Dimension(StrEnum):
    """A counter that only goes up: of an aircraft, or of a component carried along through aircraft."""

    AIRFRAME_MINUTES = "airframe_minutes"
    LAUNCHES = "launches"
    LANDINGS = "landings"
    ENGINE_MINUTES = "engine_minutes"
    ENGINE_STARTS = "engine_starts"
    CYCLES = "cycles"


CALENDAR: Final = "calendar"
Measure = Dimension | Literal["calendar"]
MEASURES: tuple[Measure, ...] = (*Dimension, CALENDAR)  # the order in which they are told

Readings = Mapping[Dimension, int]  # a dimension that is missing is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """When and at which readings work was done, or from when and from what its first interval counts."""

    on: date
    readings: Readings
