"""The scheduled jobs on a real Celery worker with a real Redis: each does its work, also when its message comes thrice."""

import subprocess
import time
from collections.abc import Callable
from datetime import timedelta

import pytest

from config.celery import app
from defects.models import Defect
from fleet.models import Aircraft, AirworthinessState, AssessmentPeriod, Event, IdempotencyRecord, Notification, Role
from tests.factories import (
    FOUNDED,
    NOW,
    ClubFactory,
    MemberFactory,
    deferred,
    inspect,
    keeper_of,
    make_aircraft,
    reported,
)
from tests.jobs.turns import TURNS

pytestmark = pytest.mark.django_db(transaction=True)

SCHEDULED = sorted({str(entry["task"]) for entry in app.conf.beat_schedule.values()})


@pytest.fixture
def aircraft(transactional_db: None) -> Aircraft:
    """Left alone since last spring: everything about it has run out, and its officer has an address."""
    club = ClubFactory.create()
    MemberFactory.create(club=club, roles=[Role.TECHNICAL_OFFICER], email="officer@example.org")
    made = make_aircraft(club)
    deferred(made)
    reported(made, at=NOW + timedelta(minutes=10), occurrence=True)
    inspect(made, at=NOW + timedelta(minutes=40))
    return made


def eventually(true: Callable[[], bool], seconds: float = 60) -> bool:
    deadline = time.monotonic() + seconds
    while not true() and time.monotonic() < deadline:
        time.sleep(0.05)
    return true()


def send(*tasks: str) -> None:
    for task in tasks:
        app.send_task(task)


def test_every_scheduled_job_does_its_work(
    aircraft: Aircraft, celery_worker_process: "subprocess.Popen[bytes]"
) -> None:
    club = aircraft.club
    IdempotencyRecord.objects.create(
        club=club,
        membership=keeper_of(club),
        key="old",
        fingerprint="0" * 64,
        status=201,
        headers={},
        body=b"{}",
        created_at=FOUNDED,
    )
    overdue = Notification.objects.filter(kind="occurrence_report_overdue")
    assert (
        sorted(
            [
                "defects.tasks.expire_deferrals",
                "defects.tasks.flag_deferrals",
                "defects.tasks.flag_reports",
                "fleet.tasks.flag_lapsed_dailies",
                "fleet.tasks.forget_old_keys",
                "fleet.tasks.reassess_due",
                "fleet.tasks.self_check",
                "fleet.tasks.send_notifications",
                "inspections.tasks.flag_occurrences",
            ]
        )
        == SCHEDULED
    )
    send("defects.tasks.flag_deferrals")
    assert eventually(Notification.objects.filter(kind="deferral_ending").exists)
    send("fleet.tasks.reassess_due", "defects.tasks.expire_deferrals", "fleet.tasks.forget_old_keys")
    assert eventually(lambda: not IdempotencyRecord.objects.exists())
    assert Defect.objects.get(number=1).state == "assessed"
    turned = AssessmentPeriod.objects.filter(aircraft=aircraft, shown_from=TURNS["end of a deferral"].at)
    assert turned.get().status == "grounded"  # since that very instant, though the job comes much later
    send("fleet.tasks.flag_lapsed_dailies", "inspections.tasks.flag_occurrences", "fleet.tasks.self_check")
    send("defects.tasks.flag_reports")
    send("fleet.tasks.send_notifications")
    assert eventually(overdue.exists)
    assert eventually(lambda: not Notification.objects.filter(emailed_at=None).exists())


def test_a_message_that_comes_thrice_has_one_effect(
    aircraft: Aircraft, celery_worker_process: "subprocess.Popen[bytes]"
) -> None:
    tasks = ["fleet.tasks.reassess_due", "defects.tasks.expire_deferrals", "defects.tasks.flag_reports"]
    send(*tasks * 3)
    send("fleet.tasks.send_notifications")
    assert eventually(
        lambda: not Notification.objects.filter(emailed_at=None).exists() and Notification.objects.exists()
    )
    assert Event.objects.filter(kind="defect_expire").count() == 1
    assert Event.objects.filter(kind="flag_occurrence_report_overdue").count() == 1
    assert Notification.objects.filter(kind="occurrence_report_overdue").count() == 1
    state = AirworthinessState.objects.get(aircraft=aircraft)
    assert AssessmentPeriod.objects.filter(aircraft=aircraft, shown_to=None).get().shown_from == state.shown_from
    starts = list(AssessmentPeriod.objects.filter(aircraft=aircraft).values_list("shown_from", flat=True))
    assert len(starts) == len(set(starts))
