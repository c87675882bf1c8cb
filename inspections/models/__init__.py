"""Models of inspections."""

from inspections.models.records import (
    Inspection,
    InspectionAttachment,
    InspectionResult,
    Occurrence,
    OccurrenceKind,
    Outcome,
    RiggingEvent,
)
from inspections.models.sheets import InspectionKind, Sheet, SheetLine

__all__ = [
    "Inspection",
    "InspectionAttachment",
    "InspectionKind",
    "InspectionResult",
    "Occurrence",
    "OccurrenceKind",
    "Outcome",
    "RiggingEvent",
    "Sheet",
    "SheetLine",
]
