"""Children of the supervisor: restarted with back-off, stopped in reverse order, closed cluster."""

import os
import signal
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import psycopg
import pytest

from config.embedded.account import unprivileged
from config.embedded.binaries import NoServer, candidates, choose, major_version
from config.embedded.cluster import LONGEST_SOCKET, Cluster
from config.embedded.services import database
from config.embedded.supervisor import Service, Supervisor


@pytest.fixture
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="wm-sup-") as path:
        Path(path).chmod(0o755)
        yield Path(path)


@pytest.fixture
def supervisor() -> Iterator[Supervisor]:
    """Gives the test run its signal handlers back."""
    signals = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    before = {number: signal.getsignal(number) for number in signals}
    with Supervisor() as running:
        yield running
    for number, handler in before.items():
        signal.signal(number, handler)


def python(folder: Path, name: str, program: str) -> Service:
    return Service(name, lambda: [sys.executable, "-c", program], log=folder / f"{name}.log")


def tend_until(supervisor: Supervisor, condition: Callable[[], object], seconds: float = 20) -> None:
    deadline = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline
        supervisor.tend()
        time.sleep(0.02)


def says_up(log: Path) -> bool:
    return "up" in log.read_text()


def test_a_child_that_keeps_dying_is_started_less_and_less_often(supervisor: Supervisor, folder: Path) -> None:
    service = python(folder, "dying", "print('again', flush=True)")
    supervisor.start(service)
    started = time.monotonic()
    tend_until(supervisor, lambda: (folder / "dying.log").read_text().count("again") >= 4)
    assert time.monotonic() - started > 0.2 + 0.4 + 0.8
    assert service.delay == pytest.approx(1.6)


def test_children_stop_in_reverse_order(folder: Path) -> None:
    last_words = (
        "import signal, sys, time\nsignal.signal(signal.SIGTERM, lambda *_: sys.exit(0))\nprint('up', flush=True)\n"
    )
    order = "\nwhile True: time.sleep(0.05)"
    stopped: list[str] = []

    class Remembered(Service):
        def stop(self) -> None:
            super().stop()
            stopped.append(self.name)

    handlers = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    with Supervisor() as running:
        for name in ("first", "second"):
            log = folder / f"{name}.log"
            running.start(Remembered(name, lambda: [sys.executable, "-c", last_words + order], log=log))
            tend_until(running, partial(says_up, log))
    for number, handler in handlers.items():
        signal.signal(number, handler)
    assert stopped == ["second", "first"]


def test_a_child_that_ignores_the_signal_is_killed(supervisor: Supervisor, folder: Path) -> None:
    deaf = "import signal, time\nsignal.signal(signal.SIGTERM, signal.SIG_IGN)\nprint('up', flush=True)\ntime.sleep(60)"
    service = python(folder, "deaf", deaf)
    service.patience = 0.2
    supervisor.start(service)
    tend_until(supervisor, lambda: "up" in (folder / "deaf.log").read_text())
    service.stop()
    assert service.child is not None
    assert service.child.returncode == -signal.SIGKILL


@pytest.mark.parametrize("binaries", candidates(), ids=str)
def test_a_private_cluster_is_closed_and_recovers_from_a_kill(
    supervisor: Supervisor, folder: Path, binaries: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PG_BIN", str(binaries))
    cluster = Cluster(home=folder / "pg", account=unprivileged(folder / "pg"))
    cluster.create()
    service = database(cluster, folder)
    supervisor.start(service)
    cluster.wait_until_ready(supervisor.tend)
    assert stat.S_IMODE(cluster.home.stat().st_mode) == 0o700
    with psycopg.connect(cluster.url, autocommit=True) as connection:
        assert connection.execute("SHOW listen_addresses").fetchone() == ("",)
        assert connection.execute("SHOW fsync").fetchone() == ("on",)
        connection.execute("CREATE TABLE kept AS SELECT 42 AS answer")
    assert service.child is not None
    os.kill(service.child.pid, signal.SIGKILL)
    service.child.wait()
    cluster.wait_until_ready(supervisor.tend)
    with psycopg.connect(cluster.url) as connection:
        assert connection.execute("SELECT answer FROM kept").fetchone() == (42,)


def test_a_cluster_of_another_version_is_refused_with_the_way_out(folder: Path) -> None:
    (folder / "PG_VERSION").write_text("9\n")
    with pytest.raises(NoServer, match=r"written by PostgreSQL 9.*pg_dumpall"):
        choose(folder)


def test_a_cluster_is_served_by_the_version_that_wrote_it(folder: Path) -> None:
    for binaries in candidates():
        (folder / "PG_VERSION").write_text(major_version(binaries) + "\n")
        assert major_version(choose(folder)) == major_version(binaries)


def test_a_deep_data_folder_gets_a_short_socket(folder: Path) -> None:
    cluster = Cluster(home=folder / ("deep" * 25), account=unprivileged(folder))
    assert len(str(cluster.socket_folder / ".s.PGSQL.5432")) <= LONGEST_SOCKET


def test_a_folder_of_somebody_else_is_refused(folder: Path) -> None:
    (folder / "pg").symlink_to("/tmp")
    with pytest.raises(PermissionError, match="must belong to user"):
        unprivileged(folder).own(folder / "pg")
