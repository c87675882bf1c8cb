"""A real Redis and a real Celery worker."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from celery import Celery
from django.conf import settings
from django.db import connection

from config.celery import app
from config.embedded.process import spawn
from tests.services import redis
from tests.services.plugin import folder_of_this_process


@pytest.fixture(scope="session")
def redis_url() -> Iterator[str]:
    """redis-py's form of the address; Celery's form of the same is in the settings already (CELERY_BROKER_URL)."""
    socket = folder_of_this_process() / "redis.sock"
    with redis.running(socket):
        yield f"unix://{socket}"


@pytest.fixture(scope="session")
def celery_worker_process(redis_url: str, django_db_setup: None) -> "Iterator[subprocess.Popen[bytes]]":
    """One worker for the session, on this process's Redis and test database.

    It sees only what is committed: use it with ``transactional_db``.
    """
    settings_module = {"DJANGO_SETTINGS_MODULE": "tests.settings", "LOG_LEVEL": "INFO"}
    environment = os.environ | settings_module | {"DATABASE_URL": database_url()}
    log = folder_of_this_process() / "worker.log"
    command = [sys.executable, "-m", "celery", "-A", "config.celery", "worker", "--pool", "solo", "--without-mingle"]
    with log.open("wb") as output:
        worker = spawn(command, environment=environment, output=output, cwd=settings.BASE_DIR)
    try:
        _wait(worker, app, log)
        yield worker
    finally:
        worker.terminate()
        worker.wait(timeout=30)


def database_url(name: str | None = None) -> str:
    """The address of the database that this process's tests use (or another on that server), for another process."""
    state = connection.settings_dict
    login = f"{state['USER']}:{quote(state['PASSWORD'])}@" if state["PASSWORD"] else f"{state['USER']}@"
    port = f":{state['PORT']}" if state["PORT"] else ""
    socket = state.get("OPTIONS", {}).get("host", "")
    return f"postgresql://{login}{state['HOST']}{port}/{name or state['NAME']}" + (f"?host={socket}" if socket else "")


def _wait(worker: "subprocess.Popen[bytes]", application: Celery, log: Path, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline and worker.poll() is None:
        if application.control.ping(timeout=0.5):
            return
    raise RuntimeError(f"the worker does not start: {log.read_text()}")
