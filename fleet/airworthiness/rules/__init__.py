"""The table of rules. To add one: write it in the module of its subject, and add it here.

The order is the order in which reasons of equal effect are shown.
"""

from fleet.airworthiness.rule import Rule
from fleet.airworthiness.rules.decisions import ASSESSED_DEFECT
from fleet.airworthiness.rules.defects import (
    CRITICAL_ITEM_DEFECT,
    HAZARD_ASSESSED,
    UNCLASSIFIED_DEFECT,
    UNTRIAGED_DEFECT,
)
from fleet.airworthiness.rules.deferrals import DEFERRAL_EXPIRED, DEFERRAL_RUNNING
from fleet.airworthiness.rules.documents import DOCUMENT_EXPIRED
from fleet.airworthiness.rules.inspections import BALLAST_UNKNOWN, RIGGING_CHECK_MISSING, UNSCHEDULED_INSPECTION_DUE
from fleet.airworthiness.rules.repeats import REPEAT_DEFECT
from fleet.airworthiness.rules.unevaluated import RULE_ERROR
from fleet.airworthiness.rules.work import INDEPENDENT_INSPECTION_MISSING, RECTIFICATION_UNRELEASED

RULES: tuple[Rule, ...] = (
    CRITICAL_ITEM_DEFECT,
    UNCLASSIFIED_DEFECT,
    HAZARD_ASSESSED,
    UNTRIAGED_DEFECT,
    ASSESSED_DEFECT,
    DEFERRAL_RUNNING,
    DEFERRAL_EXPIRED,
    RECTIFICATION_UNRELEASED,
    INDEPENDENT_INSPECTION_MISSING,
    RIGGING_CHECK_MISSING,
    UNSCHEDULED_INSPECTION_DUE,
    BALLAST_UNKNOWN,
    DOCUMENT_EXPIRED,
    REPEAT_DEFECT,
    RULE_ERROR,
)

__all__ = ["RULES", "Rule"]
