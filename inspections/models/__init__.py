"""Models of inspections."""

from inspections.models.programme import (
    CALENDAR,
    Compliance,
    Counting,
    Directive,
    DirectiveAssessment,
    DueItem,
    DueState,
    LimitDimension,
    Task,
    TaskLimit,
)
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
    "CALENDAR",
    "Compliance",
    "Counting",
    "Directive",
    "DirectiveAssessment",
    "DueItem",
    "DueState",
    "Inspection",
    "InspectionAttachment",
    "InspectionKind",
    "InspectionResult",
    "LimitDimension",
    "Occurrence",
    "OccurrenceKind",
    "Outcome",
    "RiggingEvent",
    "Sheet",
    "SheetLine",
    "Task",
    "TaskLimit",
]
