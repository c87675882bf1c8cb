"""Triage, deferral and its withdrawal."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from defects import permissions
from defects.facts import deferral_fact
from defects.lifecycle import DEFER, TRIAGE, WITHDRAW_DEFERRAL, State
from defects.models import AssessmentCode, Defect, Deferral, DeferralEnd, Triage
from defects.services import acting
from defects.services.acting import Acted
from defects.services.reports import item_of
from fleet.airworthiness.limits import occurrence_report_deadline
from fleet.airworthiness.risk import region
from fleet.airworthiness.rules.deferrals import limit_passed
from fleet.errors import DomainError, FieldError, Invalid, invalid
from fleet.models import Item, Membership
from fleet.permissions import today_in


def _raise(refusal: DomainError | None) -> None:
    if refusal:
        raise refusal


def _check_risk(assessment: str, severity: str, likelihood: int | None) -> None:
    if bool(severity) != (likelihood is not None):
        raise invalid(
            "/likelihood",
            "risk_pair",
            "Give severity and likelihood together, or neither.",
        )
    if (
        severity
        and likelihood is not None
        and assessment != AssessmentCode.HAZARD
        and region(severity, likelihood) == "intolerable"
    ):
        raise invalid(
            "/assessment",
            "intolerable",
            f"The risk {likelihood}{severity} is intolerable: assess the defect as a hazard.",
        )


def _classify(defect: Defect, item: Item | None, at: datetime) -> None:
    defect.item = item
    if defect.touched_critical_at is None and permissions.is_critical(item):
        defect.touched_critical_at = at


def _apply_triage(
    defect: Defect,
    *,
    at: datetime,
    assessment: str,
    severity: str,
    likelihood: int | None,
    reportable: bool | None,
) -> None:
    defect.assessment = assessment
    defect.assessed_at = defect.assessed_at or at
    defect.state = State.NO_DEFECT if assessment == AssessmentCode.NO_DEFECT else State.ASSESSED
    if severity:
        defect.severity, defect.likelihood = severity, likelihood
    if reportable is False:
        defect.report_due_at = None
    elif reportable and defect.report_due_at is None:
        defect.report_due_at = occurrence_report_deadline(at)


@transaction.atomic
def triage(
    *,
    defect_id: UUID,
    by: Membership,
    at: datetime,
    assessment: str,
    justification: str,
    item_code: str | None = None,
    severity: str = "",
    likelihood: int | None = None,
    reportable: bool | None = None,
) -> Acted:
    """Assess a defect, and classify it if ``item_code`` is given. Raises NotFound, Forbidden, Conflict, Invalid."""
    aircraft, defect = acting.begin(TRIAGE, defect_id=defect_id, by=by, at=at)
    _check_risk(assessment, severity, likelihood)
    item = item_of(aircraft, item_code) if item_code else defect.item
    _raise(permissions.why_not_triage(defect, by, item=item, assessment=assessment))
    item_before = defect.item.code if defect.item else None
    _classify(defect, item, at)
    _apply_triage(
        defect,
        at=at,
        assessment=assessment,
        severity=severity,
        likelihood=likelihood,
        reportable=reportable,
    )
    defect.save()
    Triage.objects.create(
        defect=defect,
        assessment=assessment,
        justification=justification,
        item=item,
        severity=severity,
        likelihood=likelihood,
        reportable=reportable,
        triaged_by=by,
        triaged_at=at,
    )
    data = {
        "assessment": assessment,
        "justification": justification,
        "item_before": item_before,
        "item": item.code if item else None,
        "severity": severity,
        "likelihood": likelihood,
        "reportable": reportable,
    }
    return acting.finish(aircraft, defect, act=TRIAGE.code, by=by, at=at, data=data)


def _check_limits(
    until_date: date | None,
    until_minutes: int | None,
    until_launches: int | None,
    today: date,
) -> None:
    if until_date is None and until_minutes is None and until_launches is None:
        detail = "Give at least one limit: until_date, until_minutes or until_launches."
        raise Invalid(
            "invalid",
            detail,
            tuple(FieldError(f"/{n}", "limit_missing", detail) for n in ("until_date",)),
        )
    if until_date is not None and until_date < today:
        raise invalid(
            "/until_date",
            "in_past",
            "This day is over. Give the last day on which the defect may be flown with.",
        )


@transaction.atomic
def defer(
    *,
    defect_id: UUID,
    by: Membership,
    at: datetime,
    limitations: Sequence[str],
    basis: str,
    justification: str,
    until_date: date | None = None,
    until_minutes: int | None = None,
    until_launches: int | None = None,
) -> Acted:
    """Permit flight with a known defect until the first limit. Raises NotFound, Forbidden, Conflict, Invalid.

    ``until_minutes`` and ``until_launches`` are totals of the airframe; while the usage is unknown they ground.
    """
    aircraft, defect = acting.begin(DEFER, defect_id=defect_id, by=by, at=at)
    _raise(permissions.why_not_defer(defect))
    if not limitations:
        raise invalid(
            "/limitations",
            "required",
            "Write at least one limitation for the pilot in command.",
        )
    _check_limits(until_date, until_minutes, until_launches, today_in(aircraft.club, at))
    deferral = Deferral.objects.create(
        defect=defect,
        until_date=until_date,
        until_minutes=until_minutes,
        until_launches=until_launches,
        limitations=list(limitations),
        basis=basis,
        justification=justification,
        first_identified_at=defect.found_at,
        deferred_by=by,
        deferred_at=at,
    )
    defect.state, defect.deferral = State.DEFERRED, deferral
    defect.save(update_fields=["state", "deferral"])
    data = {
        "until_date": until_date,
        "until_minutes": until_minutes,
        "until_launches": until_launches,
        "limitations": list(limitations),
        "basis": basis,
        "justification": justification,
        "first_identified_at": defect.found_at,
    }
    return acting.finish(aircraft, defect, act=DEFER.code, by=by, at=at, data=data)


def end_deferral(
    defect: Defect,
    *,
    kind: DeferralEnd.Kind,
    by: Membership | None,
    at: datetime,
    reason: str = "",
) -> None:
    """Write how the running deferral of a defect ended; whether a limit had passed is kept, for it grounds on."""
    deferral = defect.deferral
    if deferral is None or getattr(deferral, "end", None) is not None:
        return
    # usage is unknown as yet, and with it whether a limit in hours or launches has passed: then it has
    unknown_usage = deferral.until_minutes is not None or deferral.until_launches is not None
    past = unknown_usage or limit_passed(deferral_fact(deferral, defect.aircraft.club.time_zone), None, at)
    DeferralEnd.objects.create(
        deferral=deferral,
        kind=kind,
        past_limit=past,
        reason=reason,
        ended_by=by,
        ended_at=at,
    )


@transaction.atomic
def withdraw_deferral(*, defect_id: UUID, by: Membership, at: datetime, justification: str) -> Acted:
    """End a deferral before its limit; the decision limit goes on counting from the first assessment."""
    aircraft, defect = acting.begin(WITHDRAW_DEFERRAL, defect_id=defect_id, by=by, at=at)
    end_deferral(defect, kind=DeferralEnd.Kind.WITHDRAWN, by=by, at=at, reason=justification)
    defect.state = State.ASSESSED
    defect.save(update_fields=["state"])
    data: dict[str, Any] = {"justification": justification}
    return acting.finish(aircraft, defect, act=WITHDRAW_DEFERRAL.code, by=by, at=at, data=data)
