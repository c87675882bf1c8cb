"""What scheduled jobs do to the register: set-based, restartable, safe to run twice or at once."""

import logging
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

from django.db import connection, transaction

from fleet import assessment
from fleet.airworthiness.flying_day import edges
from fleet.models import Aircraft, AssessmentPeriod
from fleet.services.flags import Notice, raise_flags

log = logging.getLogger(__name__)

BATCH = 500
R = TypeVar("R")


@contextmanager
def alone(job: str) -> Iterator[bool]:
    """Whether this run has the job to itself; a second one that comes meanwhile has nothing to do."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(hashtextextended(%s, 0))", [job])
        (mine,) = cursor.fetchone() or (False,)
        try:
            yield bool(mine)
        finally:
            if mine:
                cursor.execute("SELECT pg_advisory_unlock(hashtextextended(%s, 0))", [job])


def in_batches(ids: Sequence[UUID], work: Callable[[Sequence[UUID]], int]) -> int:
    """Run the work over ascending batches, a transaction each; what fails is tried one by one, and the rest goes on."""
    done = 0
    for start in range(0, len(ids), BATCH):
        batch = ids[start : start + BATCH]
        try:
            with transaction.atomic():
                done += work(batch)
        except Exception:
            log.exception("a batch failed")
            if len(batch) > 1:
                done += sum(in_batches([one], work) for one in batch)
    return done


def those_that(rows: Iterable[R], question: Callable[[R], bool]) -> list[R]:
    """The rows of which it is true; one of which it cannot be told is logged and set aside, and the rest go on."""
    found = []
    for row in rows:
        try:
            if question(row):
                found.append(row)
        except Exception:
            log.exception("a row could not be looked at: %s", row)
    return found


def reassess_due(at: datetime) -> int:
    """Bring every stored verdict that has run out up to ``at``; the number of aircraft. Constant statements a batch."""
    due = Aircraft.objects.filter(assessment.due_for_reassessment(at)).order_by("id")
    return in_batches(
        list(due.values_list("id", flat=True)),
        lambda batch: len(assessment.lock_many(Aircraft.objects.filter(id__in=batch), at=at)),
    )


def reassess_everything(at: datetime) -> int:
    """Judge every aircraft anew from the facts; the number whose stored verdict differed, which is a fault.

    The oracle behind the nightly self-check and a restore drill.
    """

    def anew(batch: Sequence[UUID]) -> int:
        fleet = assessment.lock_many(Aircraft.objects.filter(id__in=batch), at=at)
        stored = {one.id: _shown(one) for one in fleet}
        assessment.conclude(fleet, at=at)
        wrong = [one for one in fleet if stored[one.id] != _shown(one)]
        for one in wrong:
            log.error(
                "a stored verdict differed from the recomputed one",
                extra={"aircraft": str(one.id)},
            )
        return len(wrong)

    return in_batches(list(Aircraft.objects.order_by("id").values_list("id", flat=True)), anew)


def _shown(aircraft: Aircraft) -> list[object]:
    return [getattr(aircraft.airworthiness, name) for name in assessment.SHOWN]


def flag_lapsed_dailies(at: datetime) -> int:
    """Flag aircraft whose daily inspection ran out with its flying day (not those whose inspection was cancelled)."""
    ended = AssessmentPeriod.objects.filter(
        ready_today=True,
        shown_to__gt=at - timedelta(hours=25),
        shown_to__lte=at,
        aircraft__airworthiness__ready_today=False,
    ).select_related("aircraft__club")
    return raise_flags([_lapsed(period) for period in those_that(ended, _ended_with_its_day)], at=at)


def _ended_with_its_day(period: AssessmentPeriod) -> bool:
    return period.shown_to is not None and edges(period.shown_to, period.aircraft.club.time_zone)[0] == period.shown_to


def _lapsed(period: AssessmentPeriod) -> Notice:
    return Notice(
        aircraft=period.aircraft,
        kind="daily_inspection_lapsed",
        key=f"daily_inspection_lapsed:{period.aircraft_id}:{period.shown_to and period.shown_to.isoformat()}",
        message=f"{period.aircraft.registration}: the daily inspection has lapsed with the end of the flying day.",
        subject_type="aircraft",
        subject_id=period.aircraft_id,
    )
