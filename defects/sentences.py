"""What is recorded about defects, in plain sentences."""

from fleet.sentences import Table

OF_DEFECTS: Table = {
    "defect_report": "Defect {number} reported: {description}",
    "defect_triage": "Defect {number} assessed as {assessment:words}: {justification}",
    "defect_defer": "Defect {number} deferred{until_date:if_until} with limitations: {limitations:list}",
    "defect_withdraw_deferral": "Deferral of defect {number} withdrawn: {justification}",
    "defect_expire": "The deferral of defect {number} has run out.",
    "defect_rectify": "Work on defect {number}: {work_done}",
    "defect_independent_inspection": "Work on defect {number} inspected independently and {outcome}{remark:if_colon}",
    "defect_release": "Defect {number} closed by release to service under licence {licence_number}.",
    "flag_deferral_ending": "Flagged: {message}",
    "flag_occurrence_report_due": "Flagged: {message}",
    "flag_occurrence_report_overdue": "Flagged: {message}",
}
