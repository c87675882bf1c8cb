"""The containers' health checks: ``python -m config.probe web|worker|beat`` ends with 0 when that one is well."""

import http.client
import os
import sys
import time
from pathlib import Path

from config.celery import app

STALE = 600.0  # seconds; beat saves its schedule every three minutes


def web() -> bool:
    connection = http.client.HTTPConnection("localhost", int(os.environ["PORT"]), timeout=8)
    connection.request("GET", "/readyz")
    return connection.getresponse().status == 200


def worker() -> bool:
    """The worker of this host answers through the broker."""
    node = f"celery@{os.uname().nodename}"
    return bool(app.control.ping(destination=[node], timeout=5))


def beat() -> bool:
    """Beat has saved its schedule lately (the file's ending depends on the dbm in use)."""
    schedule = Path(os.environ["BEAT_SCHEDULE"])
    saved = [path.stat().st_mtime for path in schedule.parent.glob(schedule.name + "*")]
    return bool(saved) and time.time() - max(saved) < STALE


if __name__ == "__main__":
    sys.exit(0 if {"web": web, "worker": worker, "beat": beat}[sys.argv[1]]() else 1)
