"""When each scheduled job last succeeded, kept in the database, which every process sees."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from celery import Task
from django.utils import timezone

from fleet.models import JobRun

MISSED_RUNS = 3  # a job is late when it has missed so many runs in a row


@dataclass(frozen=True, slots=True)
class LastRun:
    """Last success of a job; ``late`` when it is overdue, or no worker knows of it."""

    succeeded_at: datetime | None
    late: bool


def expect_runs(sender: Any, **_kwargs: object) -> None:
    """Receives Celery's worker_ready: from now on every job of the table is expected to run."""
    now = timezone.now()
    names = {entry["task"] for entry in sender.app.conf.beat_schedule.values()}
    JobRun.objects.bulk_create([JobRun(name=name, expected_since=now) for name in sorted(names)], ignore_conflicts=True)


def note_run(sender: "Task[Any, Any]", **_kwargs: object) -> None:
    """Receives Celery's task_success."""
    now = timezone.now()
    JobRun.objects.update_or_create(
        name=sender.name, defaults={"succeeded_at": now}, create_defaults={"succeeded_at": now, "expected_since": now}
    )


def last_runs(intervals: dict[str, float], now: datetime) -> dict[str, LastRun]:
    """Last run of each task by name; ``intervals`` in seconds."""
    seen = {run.name: run for run in JobRun.objects.filter(name__in=intervals)}
    return {name: _last_run(seen.get(name), seconds, now) for name, seconds in intervals.items()}


def _last_run(run: JobRun | None, seconds: float, now: datetime) -> LastRun:
    if run is None:
        return LastRun(None, late=True)
    waited = now - (run.succeeded_at or run.expected_since)
    return LastRun(run.succeeded_at, late=waited > timedelta(seconds=MISSED_RUNS * seconds))
