"""What scheduled jobs do to defects: end deferrals whose limit has passed, flag what is about to run out."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q

from defects.facts import deferral_fact
from defects.lifecycle import EXPIRE, OPEN_STATES, State
from defects.models import Defect, DeferralEnd
from fleet import assessment
from fleet.airworthiness.rules.deferrals import limit_passed
from fleet.events import Entry
from fleet.models import Aircraft
from fleet.services.flags import Notice, raise_flags
from fleet.services.upkeep import in_batches, those_that

DEFERRAL_NOTICE = timedelta(days=3)
REPORT_NOTICE = timedelta(hours=24)
ZONE_MARGIN = timedelta(days=2)  # a civil date may end up to 14 hours from UTC; the exact instant is compared after


def _deferred(by: datetime) -> list[Defect]:
    """Deferred defects whose last covered day may end by then."""
    return list(
        Defect.objects.filter(
            state=State.DEFERRED,
            deferral__end=None,
            deferral__until_date__lte=by + ZONE_MARGIN,
        )
        .select_related("aircraft__club", "deferral__end", "item")
        .order_by("aircraft_id", "number")
    )


def _expired(defects: Sequence[Defect], at: datetime) -> list[Defect]:
    def is_over(one: Defect) -> bool:
        # usage is not recorded yet; a limit in hours or launches grounds by rule and waits for a person
        deferral = one.deferral
        return deferral is not None and limit_passed(deferral_fact(deferral, one.aircraft.club.time_zone), None, at)

    return those_that(defects, is_over)


def _end(batch: Sequence[UUID], at: datetime) -> int:
    fleet = assessment.lock_many(Aircraft.objects.filter(id__in=batch), at=at)
    expired = [one for one in _expired(_deferred(at), at) if one.aircraft_id in set(batch)]
    DeferralEnd.objects.bulk_create(
        DeferralEnd(
            deferral=one.deferral,
            kind=DeferralEnd.Kind.EXPIRED,
            past_limit=True,
            ended_by=None,
            ended_at=at,
        )
        for one in expired
    )
    entries: dict[UUID, list[Entry]] = {}
    for one in expired:
        one.state = State.ASSESSED
        data = {"number": one.number, "state": one.state, "deferral": one.deferral_id}
        entry = Entry(
            kind=f"defect_{EXPIRE.code}",
            at=at,
            by=None,
            subject_type="defect",
            subject_id=one.id,
            data=data,
        )
        entries.setdefault(one.aircraft_id, []).append(entry)
    Defect.objects.bulk_update(expired, ["state"])
    assessment.conclude(fleet, at=at, entries=entries)
    return len(expired)


def expire_deferrals(at: datetime) -> int:
    """Send defects whose deferral has run out back to ``assessed``. The verdict does not change: it grounded already."""
    aircraft_ids = sorted({one.aircraft_id for one in _expired(_deferred(at), at)})
    return in_batches(aircraft_ids, lambda batch: _end(batch, at))


def flag_deferrals(at: datetime) -> int:
    """Flag deferrals that end soon."""
    ending = _expired(_deferred(at + DEFERRAL_NOTICE), at + DEFERRAL_NOTICE)
    return raise_flags([_ending(one) for one in ending if one.deferral], at=at)


def _ending(defect: Defect) -> Notice:
    until = defect.deferral.until_date if defect.deferral else None
    return Notice(
        aircraft=defect.aircraft,
        kind="deferral_ending",
        key=f"deferral_ending:{defect.deferral_id}",
        message=f"{defect.aircraft.registration}: the deferral of defect {defect.number} ends with {until};"
        " after that it grounds.",
        subject_type="defect",
        subject_id=defect.id,
    )


def flag_reports(at: datetime) -> int:
    """Flag reportable defects whose deadline for telling the authority is near or has passed."""
    near = (
        Defect.objects.filter(report_due_at__lte=at + REPORT_NOTICE)
        .filter(Q(state__in=OPEN_STATES) | Q(report_due_at__gte=at - timedelta(days=30)))
        .select_related("aircraft")
        .order_by("id")
    )
    return raise_flags([_deadline(one, at) for one in near], at=at)


def _deadline(defect: Defect, at: datetime) -> Notice:
    due = defect.report_due_at
    passed = due is not None and due <= at
    when = f"has passed ({due:%Y-%m-%d %H:%M} UTC)" if passed else f"is {due:%Y-%m-%d %H:%M} UTC"
    return Notice(
        aircraft=defect.aircraft,
        kind="occurrence_report_overdue" if passed else "occurrence_report_due",
        key=f"occurrence_report_{'overdue' if passed else 'due'}:{defect.id}",
        message=f"{defect.aircraft.registration}: the deadline for the occurrence report of defect {defect.number} {when}.",
        subject_type="defect",
        subject_id=defect.id,
    )
