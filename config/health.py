"""Is the process alive, and is the service fit to answer?"""

from dataclasses import asdict

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from kombu.exceptions import OperationalError

from config.celery import app
from config.job_runs import last_runs

INTERVALS = {entry["task"]: entry["schedule"] for entry in app.conf.beat_schedule.values()}  # seconds


@never_cache
@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """200 as long as the process answers; touches nothing else."""
    return JsonResponse({"status": "alive"})


@never_cache
@require_safe
def readyz(request: HttpRequest) -> JsonResponse:
    """503 without the database or with migrations not applied.

    A broker that is away or jobs that are late only degrade: acts and reads go on, and reads never trust a late job.
    """
    checks = {"database": database(), "migrations": "unknown", "broker": broker()}
    if checks["database"] == "ok":
        checks["migrations"] = migrations()
    ready = checks["database"] == checks["migrations"] == "ok"
    jobs = last_runs(INTERVALS, timezone.now()) if ready else {}
    well = checks["broker"] == "ok" and not any(run.late for run in jobs.values())
    status = "unavailable" if not ready else "ready" if well else "degraded"
    shown = {name: asdict(run) for name, run in jobs.items()}
    return JsonResponse({"status": status, "checks": checks, "jobs": shown}, status=200 if ready else 503)


def database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "unreachable"
    return "ok"


def migrations() -> str:
    executor = MigrationExecutor(connection)
    return "pending" if executor.migration_plan(executor.loader.graph.leaf_nodes()) else "ok"


def broker() -> str:
    try:
        with app.connection_for_write() as broker_connection:
            broker_connection.ensure_connection(max_retries=1, timeout=3)
    except (OperationalError, OSError):
        return "unreachable"
    return "ok"
