"""What is recorded about inspections, rigging and occurrences, in plain sentences; and all tables as one."""

from defects.sentences import OF_DEFECTS
from fleet.sentences import OF_REGISTER, Table

OF_INSPECTIONS: Table = {
    "inspection_daily": "Daily inspection, {complete:completeness}{missing:if_missing}.",
    "inspection_after_rigging": "Inspection after rigging, {complete:completeness}{missing:if_missing}.",
    "inspection_unscheduled": "Unscheduled inspection, {complete:completeness}{missing:if_missing}.",
    "inspection_periodic": "Periodic inspection, {complete:completeness}{missing:if_missing}.",
    "task_add": "Task {code} added to the programme: {title}.",
    "task_change": "Task {code} changed: {all:changes}.",
    "task_comply": "Task {task} done on {done_on}: {method}",
    "directive_add": "Directive {reference} {revision} recorded: {title}.",
    "directive_assess": "Directive {directive} assessed as {decision:words}: {reason}",
    "aircraft_rigged": "Rigged at {occurred_at:instant}.",
    "aircraft_derigged": "Derigged at {occurred_at:instant}.",
    "occurrence_report": "Occurrence at {occurred_at:instant}, {kind:words}: {description}",
}
SENTENCES: Table = {**OF_REGISTER, **OF_DEFECTS, **OF_INSPECTIONS}
