"""What is recorded about inspections, rigging and occurrences, in plain sentences; and all tables as one."""

from defects.sentences import OF_DEFECTS
from fleet.sentences import OF_REGISTER, Table

OF_INSPECTIONS: Table = {
    "inspection_daily": "Daily inspection, {complete:completeness}{missing:if_missing}.",
    "inspection_after_rigging": "Inspection after rigging, {complete:completeness}{missing:if_missing}.",
    "inspection_unscheduled": "Unscheduled inspection, {complete:completeness}{missing:if_missing}.",
    "inspection_periodic": "Periodic inspection, {complete:completeness}{missing:if_missing}.",
    "aircraft_rigged": "Rigged at {occurred_at:instant}.",
    "aircraft_derigged": "Derigged at {occurred_at:instant}.",
    "occurrence_report": "Occurrence at {occurred_at:instant}, {kind:words}: {description}",
}
SENTENCES: Table = {**OF_REGISTER, **OF_DEFECTS, **OF_INSPECTIONS}
