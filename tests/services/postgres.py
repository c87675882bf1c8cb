"""The PostgreSQL of one test run: private, without durability, gone afterwards."""

import signal
import subprocess
from pathlib import Path

import pytest

from config.embedded.account import unprivileged
from config.embedded.cluster import NO_DURABILITY, Cluster
from config.embedded.process import spawn


class TestPostgres:
    """Starts on demand; its address is known before."""

    __test__ = False

    def __init__(self, folder: Path) -> None:
        home = folder / "pg"
        self.cluster = Cluster(home=home, account=unprivileged(home))
        self.url = self.cluster.url
        self._server: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        if self._server is not None:
            return
        self.cluster.create()
        log = (self.cluster.home / "log").open("wb")
        server = spawn(
            self.cluster.command(NO_DURABILITY | {"max_connections": "200"}),
            account=self.cluster.account,
            output=log,
            dying_signal=signal.SIGINT,
        )
        self._server = server
        self.cluster.wait_until_ready(self._still_there)

    def _still_there(self) -> None:
        if self._server is None or self._server.poll() is not None:
            pytest.exit((self.cluster.home / "log").read_text(), returncode=3)

    def stop(self) -> None:
        if self._server is not None:
            self._server.send_signal(signal.SIGINT)
            self._server.wait(timeout=30)
