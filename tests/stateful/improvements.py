"""Which act may lift which reason. Independent of the code: from the design's invariants 2 and 3 and its act table."""

from collections.abc import Mapping
from typing import Any

from fleet.models import Membership, Role
from tests.stateful.oracle import RANK

Look = Mapping[str, Any]
KEPT_PAPERS = {"add document", "change document", "change settings"}
LIFTED_BY: dict[str, set[str]] = {
    "critical_item_defect": {"release", "triage"},
    "unclassified_defect": {"triage"},
    "hazard_assessed": {"release", "triage"},
    "untriaged_defect": {"triage", "change settings", "change item"},
    "assessed_defect": {"triage", "defer", "rectify", "change settings", "change item"},
    "deferral_expired": {"defer", "withdraw", "rectify", "release", "triage", "change item"},
    "rectification_unreleased": {"release"},
    "independent_inspection_missing": {"inspect independently", "release"},
    "rigging_check_missing": {"inspection"},
    "unscheduled_inspection_due": {"inspection"},
    "document_expired": KEPT_PAPERS,
    "ballast_unknown": {"inspection"},
}
BY_INSPECTION = {"rigging_check_missing", "ballast_unknown"}  # all that a pilot's complete inspection lifts
INSPECTORS_DECISIONS = {"critical_item_defect", "hazard_assessed"}  # triage lifts these only if an inspector triages


def _grounding(look: Look) -> set[tuple[str, str]]:
    """(rule, subject). What is about the aircraft's latest event or paper goes by the rule alone."""
    return {
        (reason["rule"], reason["subject"]["id"] if reason["subject"]["type"] in ("defect", "occurrence") else "")
        for reason in look["reasons"]
        if reason["effect"] == "grounds"
    }


def check_improvement(act: str, by: Membership | None, before: Look, after: Look) -> None:
    """Nothing that grounded is gone unless this act, by this person, may lift it."""
    gone = {rule for rule, _subject in _grounding(before) - _grounding(after)}
    for rule in gone:
        assert act in LIFTED_BY[rule], f"{act} lifted {rule}"
    if by is None:
        assert not gone, f"{act}, which is nobody's decision, lifted {gone}"
        return
    if act == "triage" and gone & INSPECTORS_DECISIONS:
        assert by.holds(Role.INSPECTOR), f"no inspector, and lifted {gone}"
    _check_pilot(act, by, gone, before, after)


def _check_pilot(act: str, by: Membership, gone: set[str], before: Look, after: Look) -> None:
    """Who is a pilot and nothing else improves the status by a complete inspection only."""
    if set(by.roles) - {Role.PILOT}:
        return
    better = RANK[after["status"]] < RANK[before["status"]]
    assert not better or (act == "inspection" and gone <= BY_INSPECTION), f"a pilot's {act} improved the status"
    readier = after["ready_today"] and not before["ready_today"]
    assert not readier or act == "inspection", f"a pilot's {act} made the aircraft ready"
