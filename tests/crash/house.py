"""The whole service as it runs: PostgreSQL with durability, web server, jobs; each can be killed and comes back."""

import json
import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from celery import Celery
from django.conf import settings

from config.embedded import services
from config.embedded.account import unprivileged
from config.embedded.cluster import Cluster
from config.embedded.supervisor import FIRST_DELAY, Service

NUDGED = ("fleet.tasks.self_check", "fleet.tasks.reassess_due", "inspections.tasks.flag_occurrences")
PATIENCE = 120.0


class House:
    """Its main thread starts everything, so it alone must call ``tend``."""

    def __init__(self, folder: Path, port: int) -> None:
        self.data, self.port = folder, port
        self.cluster = Cluster(home=folder / "pg", account=unprivileged(folder / "pg"))
        self.database = services.database(self.cluster, folder)
        self.web = services.web(folder, None, port)
        self.jobs = services.jobs(folder, None)
        self.services: list[Service] = []

    def environment(self) -> Mapping[str, str]:
        """For every child."""
        return {
            "DATA_DIR": str(self.data),
            "DATABASE_URL": self.cluster.url,
            "DATABASE_CONN_MAX_AGE": "60",
            "DJANGO_SETTINGS_MODULE": "tests.settings",
            "CELERY_BROKER_URL": "filesystem://",
            "CACHE_URL": "locmemcache://",
            "LOG_LEVEL": "ERROR",
        }

    def open(self) -> dict[str, Any]:
        """Everything is up; what the seed says."""
        self.cluster.create()
        self._start(self.database)
        self.cluster.wait_until_ready(self.tend)
        self._run("manage.py", "migrate", "--verbosity", "0")
        told: dict[str, Any] = json.loads(self._run("-m", "tests.crash.seed"))
        services.give_folders(self.data, None)
        self._start(self.web)
        self._start(self.jobs)
        self.wait_until_well()
        return told

    def audit(self, keys: list[str]) -> dict[str, Any]:
        """What the records say, read by another process."""
        answer: dict[str, Any] = json.loads(self._run("-m", "tests.crash.audit", told=json.dumps(keys)))
        return answer

    def tend(self) -> None:
        """Starts again what is dead; without the ever longer pause of a child that keeps dying, for we are the reason."""
        for service in self.services:
            service.delay = min(service.delay, 4 * FIRST_DELAY)
            service.tend()

    def kill(self, victim: str) -> None:
        """SIGKILL, without warning."""
        if victim == "web worker":
            workers = children_of(_pid(self.web))
            os.kill(workers[-1] if workers else _pid(self.web), signal.SIGKILL)
        else:
            os.kill(_pid(self.database if victim == "PostgreSQL" else self.jobs), signal.SIGKILL)

    def wait_until_well(self) -> None:
        """Until the service says that it is fit to answer."""
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            self.tend()
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/readyz", timeout=5):
                    return
            except OSError:
                time.sleep(0.05)
        raise TimeoutError((self.data / "log" / "web.log").read_text()[-2000:])

    def close(self) -> None:
        for service in reversed(self.services):
            service.stop()

    def _start(self, service: Service) -> None:
        self.services.append(service)
        service.start()

    def _run(self, *arguments: str, told: str = "") -> str:
        command = [sys.executable, *arguments]
        done = subprocess.run(command, input=told, capture_output=True, text=True, check=False, cwd=settings.BASE_DIR)
        assert done.returncode == 0, done.stderr[-3000:]
        return done.stdout


@contextmanager
def open_house(folder: Path, port: int) -> Iterator[tuple[House, dict[str, Any]]]:
    """The house with what its seed says; the environment of its children is put back."""
    house = House(folder, port)
    before = dict(os.environ)
    os.environ.update(house.environment())
    try:
        yield house, house.open()
    finally:
        house.close()
        os.environ.clear()
        os.environ.update(before)


def nudging(folder: Path) -> Celery:
    """An application that sends jobs to the worker of the house, more often than its clock does."""
    application = Celery("nudge", broker="filesystem://", set_as_current=False)
    queue = str(folder / "queue")
    application.conf.broker_transport_options = dict.fromkeys(
        ("data_folder_in", "data_folder_out", "control_folder"), queue
    )
    return application


def _pid(service: Service) -> int:
    assert service.child is not None
    return service.child.pid


def children_of(pid: int) -> list[int]:
    """Processes whose parent it is, oldest first (proc(5): the fourth field of stat, after the name in brackets)."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return sorted(found)
