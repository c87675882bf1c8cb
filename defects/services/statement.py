"""The release statement and its canonical record.

Fields after ML.A.801 and 14 CFR 43.9/43.11 (lists of required fields): work, data used, date of completion, who did it,
who signs with licence, limitations, work not done, independent inspection.
"""

from datetime import datetime
from typing import Any

from defects.lifecycle import State
from defects.models import Defect, Rectification, Release
from defects.permissions import inspection_of
from fleet.events import canonical_json, digest
from fleet.models import Authorisation, Membership

STATEMENT = (
    "I certify that the work specified, except as otherwise stated, was carried out in accordance with"
    " the maintenance data named, and in respect of that work the aircraft is considered ready for release to service."
)


def open_deferred(defect: Defect) -> list[dict[str, Any]]:
    """Other deferred defects of the aircraft, which a release names as work not done, with their limitations."""
    others = Defect.objects.filter(aircraft_id=defect.aircraft_id, state=State.DEFERRED).exclude(id=defect.id)
    return [
        {
            "number": other.number,
            "description": other.description,
            "limitations": other.deferral.limitations if other.deferral else [],
        }
        for other in others.select_related("deferral").order_by("number")
    ]


def _inspection(work: Rectification) -> dict[str, Any] | None:
    check = inspection_of(work)
    if check is None:
        return None
    return {
        "inspected_by": check.inspected_by.person.full_name,
        "inspected_at": check.inspected_at,
        "outcome": check.outcome,
        "remark": check.remark,
    }


def record_of(
    defect: Defect,
    work: Rectification,
    *,
    by: Membership,
    at: datetime,
    authorisation: Authorisation,
    references: str,
) -> dict[str, Any]:
    """What the signature covers."""
    aircraft = defect.aircraft
    return {
        "aircraft": {
            "registration": aircraft.registration,
            "type": aircraft.aircraft_type.designation,
            "serial_number": aircraft.serial_number,
            "total_minutes": None,  # no usage is recorded yet
        },
        "defect": {
            "id": defect.id,
            "number": defect.number,
            "description": defect.description,
            "item": defect.item and defect.item.code,
        },
        "work": {
            "description": work.work_done,
            "data_used": work.data_used,
            "parts": work.parts,
            "measurements": work.measurements,
            "performed_by": work.performed_by.person.full_name,
            "supervised_by": work.supervised_by.person.full_name,
            "completed_at": work.performed_at,
        },
        "independent_inspection": _inspection(work),
        "not_done": open_deferred(defect),
        "references": references,
        "statement": STATEMENT,
        "signature": {
            "member": by.id,
            "printed_name": by.person.full_name,
            "licence_number": authorisation.licence_number,
            "authorisation": authorisation.id,
            "authorisation_valid_until": authorisation.valid_until,
            "signed_at": at,
            "meaning": "release to service",
        },
    }


def sign(
    defect: Defect,
    *,
    by: Membership,
    at: datetime,
    authorisation: Authorisation,
    references: str,
) -> Release:
    """The unsaved release of a rectified defect; its hash is over the canonical record."""
    work = defect.rectification
    if work is None:
        raise ValueError("only work that was recorded can be released")
    record = canonical_json(
        record_of(
            defect,
            work,
            by=by,
            at=at,
            authorisation=authorisation,
            references=references,
        )
    )
    return Release(
        defect=defect,
        rectification=work,
        authorisation=authorisation,
        statement=STATEMENT,
        printed_name=by.person.full_name,
        licence_number=authorisation.licence_number,
        references=references,
        released_by=by,
        released_at=at,
        record=record,
        record_hash=digest(record),
    )
