"""The scheduled jobs: their table, and a real worker on a real Redis."""

import subprocess
import time
from datetime import timedelta

import pytest
import redis
from django.test import Client
from django.utils import timezone

from config.celery import app
from config.health import INTERVALS
from config.job_runs import last_runs
from fleet.models import JobRun


def test_every_scheduled_job_exists() -> None:
    app.loader.import_default_modules()
    scheduled = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert scheduled - set(app.tasks) == set()


def test_a_message_that_is_late_expires_before_the_next_one() -> None:
    for entry in app.conf.beat_schedule.values():
        assert entry["options"]["expires"] <= entry["schedule"]


@pytest.mark.django_db
def test_a_job_that_does_not_run_is_late() -> None:
    now = timezone.now()
    name, seconds = next(iter(INTERVALS.items()))
    assert last_runs(INTERVALS, now)[name].late  # no worker knows of it
    JobRun.objects.create(name=name, expected_since=now - timedelta(seconds=2 * seconds))
    assert not last_runs(INTERVALS, now)[name].late
    JobRun.objects.update(expected_since=now - timedelta(seconds=4 * seconds))
    assert last_runs(INTERVALS, now)[name].late
    JobRun.objects.update(succeeded_at=now - timedelta(seconds=seconds))
    assert not last_runs(INTERVALS, now)[name].late


@pytest.mark.django_db(transaction=True)
def test_the_worker_runs_a_job_and_the_readiness_answer_tells(
    client: Client, redis_url: str, celery_worker_process: "subprocess.Popen[bytes]"
) -> None:
    assert client.get("/readyz").json()["checks"]["broker"] == "ok"
    name = "fleet.tasks.reassess_due"
    app.send_task(name)
    deadline = time.monotonic() + 20
    while not JobRun.objects.filter(name=name, succeeded_at__isnull=False).exists() and time.monotonic() < deadline:
        time.sleep(0.1)
    shown = client.get("/readyz").json()["jobs"]
    assert shown[name]["succeeded_at"] is not None
    assert shown[name]["late"] is False
    assert redis.Redis.from_url(redis_url).llen("celery") == 0
