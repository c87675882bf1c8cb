"""May this member take this act on this defect now? The one question that service, API and page ask."""

from collections.abc import Iterator
from datetime import datetime

from defects.lifecycle import ACTS, DEFER, INSPECT_INDEPENDENTLY, RELEASE, Act, State
from defects.models import AssessmentCode, Defect, IndependentInspection, Rectification
from fleet.errors import Conflict, DomainError, Forbidden
from fleet.models import Item, Membership, Privilege, Role
from fleet.permissions import authorisation_for, role_titles


def is_critical(item: Item | None) -> bool:
    """An unknown item counts as critical."""
    return item is None or item.critical


def why_not_state(act: Act, defect: Defect) -> Conflict | None:
    """Half one: does the state allow it?"""
    if defect.state in act.sources:
        return None
    allowed = ", ".join(sorted(act.sources))
    return Conflict(
        "state",
        f"Defect {defect.number} is {State(defect.state).replace('_', ' ')}."
        f" {act.title} is possible only from: {allowed}.",
        {"state": defect.state},
    )


def why_not_role(act: Act, by: Membership) -> Forbidden | None:
    """Half two: may a member of these roles?"""
    if by.active and by.holds(*act.by):
        return None
    return Forbidden(
        "role",
        f"{act.title} is for: {act.who}. Roles: {role_titles(act.by) or 'none'}.",
    )


def why_not(act: Act, defect: Defect, by: Membership) -> DomainError | None:
    """The role first, so that nobody learns from a refusal what they may not do anyway; then the state."""
    return why_not_role(act, by) or why_not_state(act, defect)


def inspection_of(rectification: Rectification | None) -> IndependentInspection | None:
    """The independent inspection of the work, if one was made."""
    return getattr(rectification, "independent_inspection", None)


def why_not_triage(defect: Defect, by: Membership, *, item: Item | None, assessment: str) -> DomainError | None:
    """What the payload of a triage needs beyond the act table."""
    inspector = by.holds(Role.INSPECTOR)
    if not inspector and assessment == AssessmentCode.NO_DEFECT and is_critical(item):
        return Forbidden(
            "inspector_only",
            "Only an inspector may decide that a critical or unclassified item has no defect.",
        )
    moved_off = defect.item is not None and defect.item.critical and not is_critical(item)
    if not inspector and moved_off:
        return Forbidden(
            "inspector_only",
            "Only an inspector may move a defect from a critical to a non-critical item.",
        )
    lowered = defect.assessment == AssessmentCode.HAZARD and assessment != AssessmentCode.HAZARD
    if not inspector and lowered:
        return Forbidden(
            "inspector_only",
            "Only an inspector may lower what was assessed as a hazard.",
        )
    if defect.rectification is not None and (moved_off or assessment == AssessmentCode.NO_DEFECT):
        return Conflict(
            "work_unreleased",
            "Work was done on this defect and is not released. Rectify it, have it inspected and released.",
            {"state": defect.state},
        )
    return None


def why_not_defer(defect: Defect) -> DomainError | None:
    """What a deferral needs of the defect."""
    current = {"state": defect.state, "assessment": defect.assessment}
    if defect.item is None:
        return Conflict(
            "unclassified",
            "Say first, by triage, which item the defect touches.",
            current,
        )
    if defect.item.critical or not defect.item.deferrable:
        return Conflict(
            "not_deferrable",
            f"{defect.item.title} may not be deferred. Have the defect rectified.",
            current,
        )
    if defect.assessment != AssessmentCode.NO_HAZARD:
        return Conflict("hazard", "Only a defect assessed as no hazard may be deferred.", current)
    if defect.rectification is not None:
        return Conflict(
            "work_unreleased",
            "Work was done on this defect and is not released; it cannot be deferred.",
            current,
        )
    return None


def why_not_independent(defect: Defect, by: Membership, at: datetime) -> DomainError | None:
    """Independence and competence of the second person."""
    work = defect.rectification
    if work is None or inspection_of(work) is not None:
        return Conflict(
            "already_inspected",
            "This work has been inspected independently already.",
            {"state": defect.state},
        )
    if by.id in (work.performed_by_id, work.supervised_by_id, work.recorded_by_id):
        return Forbidden(
            "not_independent",
            "You had a hand in this work. Somebody else must inspect it.",
        )
    if authorisation_for(by, defect.aircraft, Privilege.INDEPENDENT_INSPECTION, at) is None:
        return Forbidden(
            "authorisation",
            "No authorisation of yours for independent inspection covers this aircraft and is in date."
            " Ask an inspector whose authorisation does.",
        )
    return None


def why_not_release(defect: Defect) -> DomainError | None:
    """What a release needs of the defect."""
    work = defect.rectification
    if defect.item is None or work is None:
        return Conflict(
            "unclassified",
            "Say first, by triage, which item the defect touches.",
            {"state": defect.state},
        )
    check = inspection_of(work)
    needed = defect.item.critical or work.on_critical_item
    if needed and (check is None or check.outcome != IndependentInspection.Outcome.ACCEPTED):
        return Conflict(
            "independent_inspection_missing",
            "Work on a critical item is released only after somebody who had no hand in it has inspected it and accepted it.",
            {"state": defect.state},
        )
    return None


def _stands_in_the_way(act: Act, defect: Defect, by: Membership, at: datetime) -> bool:
    """Whether something beyond state and role refuses the act, whatever is sent."""
    if act is DEFER:
        return why_not_defer(defect) is not None
    if act is INSPECT_INDEPENDENTLY:
        return why_not_independent(defect, by, at) is not None
    if act is RELEASE:
        return bool(why_not_release(defect)) or not authorisation_for(by, defect.aircraft, Privilege.RELEASE, at)
    return False


def allowed_acts(defect: Defect, by: Membership, at: datetime) -> Iterator[str]:
    """Codes of the acts that this member may take now, from the same questions."""
    for act in ACTS:
        if not (why_not(act, defect, by) or _stands_in_the_way(act, defect, by, at)):
            yield act.code
