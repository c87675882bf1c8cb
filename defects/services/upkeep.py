"""What scheduled jobs do to defects: end deferrals whose limit has passed, flag what is about to run out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F, Q

from defects.facts import deferral_fact
from defects.lifecycle import EXPIRE, OPEN_STATES, State
from defects.models import Defect, Deferral, DeferralEnd
from fleet import assessment
from fleet.airworthiness.facts import UsageFact
from fleet.airworthiness.rules.deferrals import limit_in_words, limit_passed
from fleet.events import Entry
from fleet.models import Aircraft, UsageTotal
from fleet.services.flags import Notice, raise_flags
from fleet.services.upkeep import in_batches, those_that

DEFERRAL_NOTICE = timedelta(days=3)
NOTICE_MINUTES, NOTICE_LAUNCHES = 5 * 60, 10  # a day's flying: common practice, no source
REPORT_NOTICE = timedelta(hours=24)
ZONE_MARGIN = timedelta(days=2)  # a civil date may end up to 14 hours from UTC; the exact instant is compared after


@dataclass(frozen=True, slots=True)
class Horizon:
    """How far to look: an instant, and so much more usage than there is."""

    at: datetime
    minutes: int = 0
    launches: int = 0

    def usage(self, total: UsageTotal | None) -> UsageFact | None:
        """Usage at the horizon; None while it is not known, for then no limit is known to be reached."""
        if total is None:
            return None
        return UsageFact(
            airframe_minutes=total.airframe_minutes + self.minutes, launches=total.launches + self.launches
        )


def _deferred(until: Horizon) -> list[Defect]:
    """Deferred defects of which a limit may be reached by then."""
    total = "aircraft__usage_total"
    near = (
        Q(deferral__until_date__lte=until.at + ZONE_MARGIN)
        | Q(deferral__until_minutes__lte=F(f"{total}__airframe_minutes") + until.minutes)
        | Q(deferral__until_launches__lte=F(f"{total}__launches") + until.launches)
    )
    return list(
        Defect.objects.filter(near, state=State.DEFERRED, deferral__end=None)
        .select_related("aircraft__club", total, "deferral__end", "item")
        .order_by("aircraft_id", "number")
    )


def _expired(until: Horizon) -> list[Defect]:
    """Those of which a limit is known to be reached by then; unknown usage grounds by rule and waits for a person."""
    return those_that(_deferred(until), lambda one: _reached(one, until))


def _reached(defect: Defect, until: Horizon) -> bool:
    aircraft = defect.aircraft
    usage = until.usage(getattr(aircraft, "usage_total", None))
    return defect.deferral is not None and limit_passed(
        deferral_fact(defect.deferral, aircraft.club.time_zone), usage, until.at
    )


def _end(batch: Sequence[UUID], at: datetime) -> int:
    fleet = assessment.lock_many(Aircraft.objects.filter(id__in=batch), at=at)
    expired = [one for one in _expired(Horizon(at)) if one.aircraft_id in set(batch)]
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
    aircraft_ids = sorted({one.aircraft_id for one in _expired(Horizon(at))})
    return in_batches(aircraft_ids, lambda batch: _end(batch, at))


def flag_deferrals(at: datetime) -> int:
    """Flag deferrals that end soon."""
    ending = _expired(Horizon(at + DEFERRAL_NOTICE, minutes=NOTICE_MINUTES, launches=NOTICE_LAUNCHES))
    return raise_flags([_ending(one, one.deferral) for one in ending if one.deferral], at=at)


def _ending(defect: Defect, deferral: Deferral) -> Notice:
    limits = limit_in_words(deferral_fact(deferral, defect.aircraft.club.time_zone))
    return Notice(
        aircraft=defect.aircraft,
        kind="deferral_ending",
        key=f"deferral_ending:{deferral.id}",
        message=f"{defect.aircraft.registration}: defect {defect.number} is deferred {limits}; after that it grounds.",
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
