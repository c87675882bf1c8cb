"""The three children of the one-command service."""

import os
import signal
import subprocess
import sys
from pathlib import Path

from config.embedded.account import Account
from config.embedded.cluster import Cluster
from config.embedded.supervisor import Service

OWN_FOLDERS = ("attachments", "queue", "cache", "jobs")  # written by the web server and the jobs
WORKERS, THREADS = "2", "4"


def database(cluster: Cluster, data: Path) -> Service:
    """SIGINT is PostgreSQL's fast shutdown: open connections are cut, nothing committed is lost."""
    log = data / "log" / "postgresql.log"
    return Service("PostgreSQL", cluster.command, log, cluster.account, stop_signal=signal.SIGINT, patience=60)


def web(data: Path, account: Account | None, port: int) -> Service:
    gunicorn = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"127.0.0.1:{port}", "--no-control-socket"]
    threads = ["--worker-class", "gthread", "--workers", WORKERS, "--threads", THREADS, "--graceful-timeout", "10"]
    return Service("web server", lambda: gunicorn + threads, log=data / "log" / "web.log", account=account)


def jobs(data: Path, account: Account | None) -> Service:
    """One worker, which carries the clock as well (config.embedded.beat)."""
    worker = [sys.executable, "-m", "celery", "-A", "config.celery", "worker", "--pool", "solo", "--loglevel", "INFO"]
    alone = ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    return Service("jobs", lambda: worker + alone, log=data / "log" / "jobs.log", account=account, patience=30)


def account_of_children(candidate: Account, data: Path, project: Path) -> Account | None:
    """The unprivileged account if it can enter the data folder and run this project's Python; None: as ourselves."""
    if os.geteuid() != 0 or not (candidate.can_execute(data) and candidate.can_execute(Path(sys.executable))):
        return None
    probe = subprocess.run(
        [sys.executable, "-c", "import django, psycopg, config.settings"],
        cwd=project,
        check=False,
        capture_output=True,
        **candidate.as_arguments(),
    )
    return candidate if probe.returncode == 0 else None


def give_folders(data: Path, account: Account | None) -> None:
    """Makes what the children write to, and hands over what an earlier run under another account left there."""
    for name in OWN_FOLDERS:
        folder = data / name
        folder.mkdir(mode=0o700, exist_ok=True)
        if os.geteuid() == 0:
            owner = account or Account(0, 0)
            for path in [folder, *folder.rglob("*")]:
                os.chown(path, owner.uid, owner.gid, follow_symlinks=False)
