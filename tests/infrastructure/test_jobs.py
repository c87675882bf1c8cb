"""The scheduled jobs: their table, and a real worker on a real Redis."""

import subprocess
import time

import pytest
import redis
from django.test import Client

from config.celery import app
from config.job_runs import last_runs


def test_every_scheduled_job_exists() -> None:
    app.loader.import_default_modules()
    scheduled = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert scheduled - set(app.tasks) == set()


def test_a_message_that_is_late_expires_before_the_next_one() -> None:
    for entry in app.conf.beat_schedule.values():
        assert entry["options"]["expires"] <= entry["schedule"]


@pytest.mark.django_db(transaction=True)
def test_the_worker_runs_a_job_and_the_readiness_answer_tells(
    client: Client, redis_url: str, celery_worker_process: "subprocess.Popen[bytes]"
) -> None:
    assert client.get("/readyz").json()["checks"]["broker"] == "ok"
    name = "fleet.tasks.reassess_due"
    app.send_task(name)
    deadline = time.monotonic() + 20
    while last_runs([name])[name] is None and time.monotonic() < deadline:
        time.sleep(0.1)
    assert client.get("/readyz").json()["jobs"][name] is not None
    assert redis.Redis.from_url(redis_url).llen("celery") == 0
