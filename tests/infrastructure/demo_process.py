"""``manage.py demo`` as a person starts it, and what runs below it."""

import os
import re
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from config.embedded.process import spawn
from tests.infrastructure.ports import free_port

PATIENCE = 180.0  # seconds; the first start initialises a cluster, migrates and loads the demo club
SET_BY_TESTS = (
    "DATABASE_URL",
    "CELERY_BROKER_URL",
    "CACHE_URL",
    "DJANGO_SETTINGS_MODULE",
    "DJANGO_SECRET_KEY",
    "LOG_LEVEL",
)


@dataclass(frozen=True, slots=True)
class Demo:
    """A running demo."""

    process: "subprocess.Popen[bytes]"
    data: Path
    port: int
    output: Path

    def status(self, path: str) -> int:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=10) as answer:
                return int(answer.status)
        except urllib.error.HTTPError as refusal:
            return refusal.code
        except OSError:
            return 0

    def postmaster(self) -> int:
        return int((self.data / "pg" / "data" / "postmaster.pid").read_text().split()[0])


@contextmanager
def demo(data: Path, *arguments: str, **environment: str) -> Iterator[Demo]:
    """Started, announced, and killed at the end if the test has not stopped it."""
    port, output = free_port(), data.with_suffix(".output")
    inherited = {name: value for name, value in os.environ.items() if name not in SET_BY_TESTS}
    command = [sys.executable, "manage.py", "demo", "--port", str(port), *arguments]
    with output.open("wb") as sink:
        started = spawn(
            command, environment=inherited | {"DATA_DIR": str(data)} | environment, output=sink, cwd=settings.BASE_DIR
        )
    try:
        wait_until(lambda: "Ctrl-C" in output.read_text() or started.poll() is not None, PATIENCE)
        assert started.poll() is None, output.read_text()
        yield Demo(started, data, port, output)
    finally:
        started.kill()
        started.wait()
        wait_until(lambda: not descendants(data), 60)


def descendants(data: Path) -> list[str]:
    """Command lines of every process that works in the data folder, by what its environment or command says."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            about = (folder / "environ").read_bytes() + (folder / "cmdline").read_bytes()
            state = re.search(r"^State:\s+(\S)", (folder / "status").read_text(), re.MULTILINE)
        except OSError:
            continue
        if bytes(data) in about and state is not None and state[1] != "Z":
            found.append((folder / "cmdline").read_bytes().replace(b"\0", b" ").decode())
    return found


def wait_until(condition: Callable[[], object], seconds: float) -> None:
    deadline = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.1)
