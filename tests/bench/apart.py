"""One job in a new process and on a copy of the database, so that it finds both as if it were the first."""

import multiprocessing
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import django
import psycopg
from django.db import connection
from django.utils.module_loading import import_string
from psycopg import sql

from tests.bench import processor
from tests.services.jobs import database_url

NEW = multiprocessing.get_context("spawn")


@dataclass(frozen=True, slots=True)
class Measured:
    """What a job answered, and what it took. ``statements`` without BEGIN, COMMIT and savepoints."""

    result: int
    seconds: float
    in_python: float  # seconds of processor time
    in_database: float
    statements: int
    growth_mb: float


def apart(job: str, at: datetime) -> Measured:
    """Runs the function with this dotted name at the instant. Raises RuntimeError if it failed."""
    original = connection.settings_dict["NAME"]
    copy = f"{original}_copy"
    connection.close()
    names = {"copy": sql.Identifier(copy), "original": sql.Identifier(original)}
    with psycopg.connect(database_url("postgres"), autocommit=True) as server:
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {copy}").format(**names))
        server.execute(sql.SQL("CREATE DATABASE {copy} TEMPLATE {original}").format(**names))
        receiver, sender = NEW.Pipe(duplex=False)
        process = NEW.Process(target=_measure, args=(job, at, database_url(copy), sender))
        process.start()
        told: Any = receiver.recv()
        process.join()
        server.execute(sql.SQL("DROP DATABASE {copy} WITH (FORCE)").format(**names))
    if isinstance(told, Measured):
        return told
    raise RuntimeError(told)


def _measure(job: str, at: datetime, url: str, sender: Connection) -> None:
    try:
        os.environ["DATABASE_URL"] = url
        django.setup()
        sender.send(_measured(import_string(job), at))
    except Exception as error:  # noqa: BLE001 - whatever it is, the parent raises it
        sender.send(f"{type(error).__name__}: {error}")


def _measured(job: Callable[[datetime], int], at: datetime) -> Measured:
    seen = 0

    def count(execute: Callable[..., Any], statement: str, params: Any, many: bool, context: Mapping[str, Any]) -> Any:
        nonlocal seen
        seen += "SAVEPOINT" not in statement
        return execute(statement, params, many, context)

    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (backend,) = cursor.fetchone() or (0,)
    resident = _status("VmHWM")
    start, spent, served = time.perf_counter(), time.process_time(), processor.seconds([backend])
    with connection.execute_wrapper(count):
        result = job(at)
    taken, spent = time.perf_counter() - start, time.process_time() - spent
    return Measured(result, taken, spent, processor.seconds([backend]) - served, seen, _status("VmHWM") - resident)


def _status(name: str) -> float:
    """A field of the process's status, in MB."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(one for one in lines if one.startswith(f"{name}:")).split()[1]) / 1024
