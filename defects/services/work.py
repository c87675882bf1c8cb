"""Rectification, independent inspection and release to service."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from defects import permissions
from defects.lifecycle import INSPECT_INDEPENDENTLY, RECTIFY, RELEASE, State
from defects.models import (
    DeferralEnd,
    IndependentInspection,
    Rectification,
    Release,
)
from defects.services import acting, statement
from defects.services.acting import Acted
from defects.services.decisions import end_deferral
from fleet.airworthiness.quantities import convert, within
from fleet.errors import Forbidden, Invalid, invalid
from fleet.models import Item, Membership, Privilege, Role
from fleet.permissions import require_authorisation
from fleet.services.instants import require_order, require_past

Measurement = Mapping[str, Any]  # quantity, value, unit, minimum?, maximum?


def _member(club_id: UUID, member_id: UUID | None, pointer: str) -> Membership | None:
    if member_id is None:
        return None
    member = Membership.objects.filter(id=member_id, club_id=club_id, active=True).select_related("person").first()
    if member is None:
        raise invalid(pointer, "unknown_member", "This is no active member of your club.")
    return member


def _supervisor(by: Membership, performed_by: Membership, named: Membership | None) -> Membership:
    """Whoever answers for the work: the inspector named, the one who did it, or the one who records it."""
    if named is not None:
        if not named.holds(Role.INSPECTOR):
            raise invalid("/supervised_by", "not_an_inspector", "Only an inspector can answer for work: name one.")
        return named
    for candidate in (performed_by, by):
        if candidate.holds(Role.INSPECTOR):
            return candidate
    raise Forbidden(
        "supervision",
        "Work by a member who is no inspector needs an inspector named in supervised_by.",
    )


def _check_measurement(number: int, measured: Measurement) -> None:
    pointer = f"/measurements/{number}/value"
    if not within(measured["value"], measured.get("minimum"), measured.get("maximum")):
        raise invalid(
            pointer,
            "outside_limits",
            "This value lies outside the limits given with it. The work is not done yet.",
        )


def _demanded_value(item: Item, measurements: Sequence[Measurement]) -> tuple[int, Decimal]:
    for number, measured in enumerate(measurements):
        if measured["quantity"] == item.quantity:
            try:
                return number, convert(measured["value"], measured["unit"], item.unit)
            except ValueError as error:
                raise invalid(f"/measurements/{number}/unit", "unit", str(error)) from error
    raise invalid(
        "/measurements",
        "measurement_missing",
        f"{item.title} demands a measurement of {item.quantity!r} in {item.unit}.",
    )


def check_measurements(item: Item | None, measurements: Sequence[Measurement]) -> None:
    """Every value inside the limits given with it, and the one that the item demands there and inside the item's."""
    for number, measured in enumerate(measurements):
        _check_measurement(number, measured)
    if item is None or not item.measured:
        return
    number, value = _demanded_value(item, measurements)
    if not within(value, item.minimum, item.maximum):
        detail = (
            f"{item.title}: {value.normalize():f} {item.unit} lies outside the item's limits. The work is not done yet."
        )
        raise Invalid(
            "invalid",
            detail,
            (invalid(f"/measurements/{number}/value", "outside_limits", detail).errors),
        )


@transaction.atomic
def rectify(
    *,
    defect_id: UUID,
    by: Membership,
    at: datetime,
    work_done: str,
    data_used: str,
    performed_at: datetime,
    performed_by: UUID | None = None,
    supervised_by: UUID | None = None,
    parts: Sequence[Any] = (),
    measurements: Sequence[Measurement] = (),
) -> Acted:
    """Record the work. It grounds until it is released. Raises NotFound, Forbidden, Conflict, Invalid."""
    aircraft, defect = acting.begin(RECTIFY, defect_id=defect_id, by=by, at=at)
    worker = _member(by.club_id, performed_by, "/performed_by") or by
    supervisor = _supervisor(by, worker, _member(by.club_id, supervised_by, "/supervised_by"))
    require_past(at=at, performed_at=performed_at)
    require_order(earlier=("found_at", defect.found_at), later=("performed_at", performed_at))
    check_measurements(defect.item, measurements)
    work = Rectification.objects.create(
        defect=defect,
        work_done=work_done,
        data_used=data_used,
        parts=list(parts),
        measurements=list(measurements),
        on_critical_item=permissions.is_critical(defect.item),
        performed_by=worker,
        performed_at=performed_at,
        supervised_by=supervisor,
        recorded_by=by,
        recorded_at=at,
    )
    if defect.state == State.DEFERRED:
        end_deferral(defect, kind=DeferralEnd.Kind.RECTIFIED, by=by, at=at)
    defect.state, defect.rectification = State.RECTIFIED, work
    defect.save(update_fields=["state", "rectification"])
    data = {
        "work_done": work_done,
        "data_used": data_used,
        "parts": list(parts),
        "measurements": [dict(measured) for measured in measurements],
        "performed_by": worker.id,
        "performed_at": performed_at,
        "supervised_by": supervisor.id,
    }
    return acting.finish(aircraft, defect, act=RECTIFY.code, by=by, at=at, data=data)


@transaction.atomic
def inspect_independently(*, defect_id: UUID, by: Membership, at: datetime, outcome: str, remark: str) -> Acted:
    """A second competent person's verdict on the work. Rejected work goes back, and grounds on.

    Raises NotFound, Forbidden (also for whoever had a hand in the work), Conflict.
    """
    aircraft, defect = acting.begin(INSPECT_INDEPENDENTLY, defect_id=defect_id, by=by, at=at)
    refusal = permissions.why_not_independent(defect, by, at)
    if refusal or defect.rectification is None:
        raise refusal or ValueError("a rectified defect has work")
    work = defect.rectification
    IndependentInspection.objects.create(
        rectification=work,
        outcome=outcome,
        remark=remark,
        inspected_by=by,
        inspected_at=at,
        worked_by_id=work.performed_by_id,
        supervised_by_id=work.supervised_by_id,
    )
    if outcome == IndependentInspection.Outcome.REJECTED:
        defect.state = State.ASSESSED
        defect.save(update_fields=["state"])
    data = {"outcome": outcome, "remark": remark, "rectification": work.id}
    return acting.finish(aircraft, defect, act=INSPECT_INDEPENDENTLY.code, by=by, at=at, data=data)


@transaction.atomic
def release(
    *,
    defect_id: UUID,
    by: Membership,
    at: datetime,
    reauthenticated: bool,
    statement_accepted: bool,
    references: str = "",
) -> tuple[Acted, Release]:
    """Sign the release to service, which closes the defect.

    ``reauthenticated``: the edge has just checked the signer's password again. Raises NotFound, Forbidden, Conflict, Invalid.
    """
    aircraft, defect = acting.begin(RELEASE, defect_id=defect_id, by=by, at=at)
    if not reauthenticated:
        raise Forbidden(
            "reauthentication",
            "Give your password again: a release is signed by who is there.",
        )
    if not statement_accepted:
        raise invalid(
            "/statement_accepted",
            "not_accepted",
            "A release is signed only if you accept its statement.",
        )
    refusal = permissions.why_not_release(defect)
    if refusal:
        raise refusal
    authorisation = require_authorisation(by, aircraft, Privilege.RELEASE, at)
    signed = statement.sign(defect, by=by, at=at, authorisation=authorisation, references=references)
    signed.save(force_insert=True)
    defect.state = State.RELEASED
    defect.save(update_fields=["state"])
    data = {
        "release": signed.id,
        "record_hash": signed.record_hash,
        "licence_number": signed.licence_number,
        "references": references,
    }
    return acting.finish(aircraft, defect, act=RELEASE.code, by=by, at=at, data=data), signed
