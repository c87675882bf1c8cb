"""The servers of a benchmark: PostgreSQL, and gunicorn with two sync workers on the benchmark's database."""

import os
import signal
import socket
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from config.embedded.account import unprivileged
from config.embedded.cluster import NO_DURABILITY, Cluster
from config.embedded.process import spawn

WORKERS = 2
HOST = "127.0.0.1"


@dataclass(frozen=True, slots=True)
class Web:
    """Where gunicorn listens, and its main process, whose children are the workers."""

    port: int
    pid: int


@contextmanager
def postgres(folder: Path, *, durable: bool) -> Iterator[str]:
    """A private server; its address."""
    home = folder / "pg"
    cluster = Cluster(home=home, account=unprivileged(home))
    cluster.create()
    settings = {"max_connections": "100", "shared_buffers": "256MB"} | ({} if durable else NO_DURABILITY)
    with (home / "log").open("wb") as log:
        server = spawn(cluster.command(settings), account=cluster.account, output=log, dying_signal=signal.SIGINT)
    try:
        cluster.wait_until_ready(lambda: _still_there(server.poll(), home / "log"))
        yield cluster.url
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(timeout=60)


@contextmanager
def web(folder: Path, database_url: str) -> Iterator[Web]:
    """The application, the bare handlers and the plain view set, in the same workers."""
    port = _free_port()
    command = [sys.executable, "-m", "gunicorn", "tests.bench.wsgi", "--bind", f"{HOST}:{port}", "--no-control-socket"]
    log = folder / "web.log"
    with log.open("wb") as output:
        server = spawn(
            [*command, "--worker-class", "sync", "--workers", str(WORKERS)],
            environment=os.environ | {"DATABASE_URL": database_url, "LOG_LEVEL": "INFO"},
            output=output,
        )
    try:
        _wait(port, lambda: _still_there(server.poll(), log))
        yield Web(port, server.pid)
    finally:
        server.terminate()
        server.wait(timeout=30)


def _still_there(status: int | None, log: Path) -> None:
    if status is not None:
        raise RuntimeError(f"a server ended with {status}: {log.read_text()}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
        return port


def _wait(port: int, meanwhile: Callable[[], None], seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        meanwhile()
        try:
            socket.create_connection((HOST, port), timeout=1).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise TimeoutError("gunicorn does not listen")
