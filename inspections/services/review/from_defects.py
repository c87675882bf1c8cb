"""Closed defects as the review knows them; open ones are facts of the rules."""

from collections.abc import Iterator
from datetime import date, timedelta

from django.db.models import Prefetch, Q

from defects.lifecycle import CLOSED_STATES, State
from defects.models import Defect, IndependentInspection, Triage
from fleet.airworthiness.limits import end_of_day
from fleet.airworthiness.review.known import ClosedDefect
from fleet.models import Aircraft
from fleet.permissions import today_in


def _rows(aircraft: Aircraft, since: date | None) -> list[Defect]:
    triages = Triage.objects.select_related("triaged_by__person").order_by("triaged_at")
    rows = Defect.objects.filter(aircraft=aircraft, state__in=CLOSED_STATES)
    if since is not None:
        begins = end_of_day(since - timedelta(days=1), aircraft.club.time_zone)
        rows = rows.filter(
            Q(release__released_at__gte=begins) | Q(state=State.NO_DEFECT, triages__triaged_at__gte=begins)
        )
    return list(
        rows.select_related(
            "release",
            "rectification__performed_by__person",
            "rectification__independent_inspection__inspected_by__person",
        )
        .prefetch_related(Prefetch("triages", triages))
        .order_by("number")
        .distinct()
    )


def _independently_by(check: IndependentInspection | None) -> str:
    if check is None or check.outcome != IndependentInspection.Outcome.ACCEPTED:
        return ""
    return check.inspected_by.person.full_name


def _released(defect: Defect, aircraft: Aircraft) -> ClosedDefect | None:
    done, release = defect.rectification, getattr(defect, "release", None)
    if done is None or release is None:
        return None
    return ClosedDefect(
        number=defect.number,
        description=defect.description,
        closed_on=today_in(aircraft.club, release.released_at),
        work_done=done.work_done,
        data_used=done.data_used,
        done_by=done.performed_by.person.full_name,
        signed_by=f"{release.printed_name}, {release.licence_number}",
        independently_by=_independently_by(getattr(done, "independent_inspection", None)),
    )


def _none(defect: Defect, aircraft: Aircraft) -> ClosedDefect:
    found: Triage = list(defect.triages.all())[-1]
    return ClosedDefect(
        number=defect.number,
        description=defect.description,
        closed_on=today_in(aircraft.club, found.triaged_at),
        work_done="",
        data_used="",
        done_by="",
        signed_by=found.triaged_by.person.full_name,
        independently_by="",
    )


def closed(aircraft: Aircraft, since: date | None) -> Iterator[ClosedDefect]:
    """By number. Two queries."""
    for defect in _rows(aircraft, since):
        yield _released(defect, aircraft) or _none(defect, aircraft)
