"""Processor time that servers have used. Other people's load on the machine hardly moves it, while it halves a rate."""

from collections.abc import Iterable
from pathlib import Path

from django.db import connection


def children(pid: int) -> list[int]:
    """Of a process on this machine, those that live now."""
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def backends() -> list[int]:
    """PostgreSQL's processes for this database, where they run on this machine."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        return [pid for (pid,) in cursor.fetchall() if Path(f"/proc/{pid}").exists()]


def seconds(pids: Iterable[int]) -> float:
    """Of processes with one thread each: time on a processor, to the nanosecond."""
    return sum(int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) for pid in pids) / 1e9
