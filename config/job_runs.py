"""When each scheduled job last succeeded, for the readiness answer; kept in the cache, which may forget it."""

from typing import Any

from celery import Task
from django.core.cache import cache
from django.utils import timezone

PREFIX = "job-run:"


def note_run(sender: "Task[Any, Any]", **_kwargs: object) -> None:
    """Receives Celery's task_success."""
    cache.set(PREFIX + sender.name, timezone.now().isoformat(), timeout=None)


def last_runs(names: list[str]) -> dict[str, str | None]:
    """ISO instant of each job's last success, None where nothing is known."""
    seen = cache.get_many([PREFIX + name for name in names])
    return {name: seen.get(PREFIX + name) for name in names}
