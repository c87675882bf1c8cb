"""A defect in JSON types."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from defects.lifecycle import State
from defects.models import Defect, Deferral, Rectification, Release
from defects.permissions import allowed_acts, inspection_of, is_critical
from fleet.airworthiness.risk import region
from fleet.api.verdicts import shown_member
from fleet.models import Membership


def _deferral(deferral: Deferral | None) -> dict[str, Any] | None:
    if deferral is None:
        return None
    end = getattr(deferral, "end", None)
    return {
        "id": deferral.id,
        "until_date": deferral.until_date,
        "until_minutes": deferral.until_minutes,
        "until_launches": deferral.until_launches,
        "limitations": deferral.limitations,
        "basis": deferral.basis,
        "justification": deferral.justification,
        "first_identified_at": deferral.first_identified_at,
        "deferred_by": shown_member(deferral.deferred_by),
        "deferred_at": deferral.deferred_at,
        "ended": end.kind if end else None,
        "ended_at": end.ended_at if end else None,
    }


def _measured(measured: dict[str, Any]) -> dict[str, Any]:
    """Decimals are stored as text, so that they keep their digits."""
    numbers = {
        name: Decimal(measured[name]) for name in ("value", "minimum", "maximum") if measured.get(name) is not None
    }
    return {**measured, **numbers}


def _check(work: Rectification) -> dict[str, Any] | None:
    check = inspection_of(work)
    if check is None:
        return None
    return {
        "outcome": check.outcome,
        "remark": check.remark,
        "inspected_by": shown_member(check.inspected_by),
        "inspected_at": check.inspected_at,
    }


def _rectification(work: Rectification | None) -> dict[str, Any] | None:
    if work is None:
        return None
    return {
        "id": work.id,
        "work_done": work.work_done,
        "data_used": work.data_used,
        "parts": work.parts,
        "measurements": [_measured(measured) for measured in work.measurements],
        "performed_by": shown_member(work.performed_by),
        "performed_at": work.performed_at,
        "supervised_by": shown_member(work.supervised_by),
        "independent_inspection": _check(work),
    }


def _release(release: Release | None) -> dict[str, Any] | None:
    if release is None:
        return None
    names = (
        "id",
        "statement",
        "printed_name",
        "licence_number",
        "released_at",
        "references",
        "record",
        "record_hash",
    )
    return {name: getattr(release, name) for name in names}


def shown(defect: Defect) -> dict[str, Any]:
    """A defect read by ``selectors.defects_of``; no further query."""
    return {
        "id": defect.id,
        "aircraft": defect.aircraft_id,
        "registration": defect.aircraft.registration,
        "number": defect.number,
        "item": defect.item.code if defect.item else None,
        "item_title": defect.item.title if defect.item else None,
        "critical": is_critical(defect.item),
        "description": defect.description,
        "damage_kind": defect.damage_kind or None,
        "size_mm": defect.size_mm,
        "position": defect.position,
        "found_at": defect.found_at,
        "found_during": defect.found_during,
        "reported_by": shown_member(defect.reported_by),
        "reported_at": defect.reported_at,
        "follows": defect.follows_id,
        "state": defect.state,
        "assessment": defect.assessment or None,
        "assessed_at": defect.assessed_at,
        "severity": defect.severity or None,
        "likelihood": defect.likelihood,
        "risk": region(defect.severity, defect.likelihood) if defect.severity and defect.likelihood else None,
        "report_due_at": defect.report_due_at,
        "deferral": _deferral(defect.deferral),
        "rectification": _rectification(defect.rectification),
        "release": _release(defect.release) if defect.state == State.RELEASED else None,
    }


def shown_to(defect: Defect, member: Membership, at: datetime) -> dict[str, Any]:
    """With the acts that the member may take: at most two more queries."""
    return {**shown(defect), "allowed_acts": list(allowed_acts(defect, member, at))}
