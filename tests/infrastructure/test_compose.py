"""docker-compose.yml: valid by the Compose specification, closed by default, and its very commands run (without Docker)."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings
from psycopg import sql

from config.embedded.process import spawn
from tests.infrastructure import compose_file
from tests.infrastructure.ports import free_port
from tests.services.jobs import database_url

SET = {
    "DJANGO_SECRET_KEY": "k" * 25 + "0123456789abcdefghijklmnopqrstuvwxyz",
    "DJANGO_ALLOWED_HOSTS": "club.example",
    "POSTGRES_PASSWORD": "p",
    "REDIS_PASSWORD": "r",
    "EMAIL_URL": "consolemail://",
    "DEFAULT_FROM_EMAIL": "club@club.example",
}
OURS = ["migrate", "web", "worker", "beat"]


def test_the_file_is_valid_by_the_schema_of_the_compose_specification() -> None:
    program = Path(sys.executable).parent / "check-jsonschema"
    check = [str(program), "--builtin-schema", "vendor.compose-spec", str(compose_file.FILE)]
    assert subprocess.run(check, capture_output=True, text=True, check=False).stdout.strip() == "ok -- validation done"


def test_no_secret_has_a_default() -> None:
    assert compose_file.required_variables() == set(SET)
    for name in SET:
        with pytest.raises(compose_file.Missing, match=name):
            compose_file.services({key: value for key, value in SET.items() if key != name})


@pytest.mark.parametrize("name", [*OURS, "postgres", "redis"])
def test_every_container_runs_closed(name: str) -> None:
    service = compose_file.services(SET)[name]
    assert service["read_only"] is True
    assert service["user"] not in {"root", "0", "0:0"}
    assert service["cap_drop"] == ["ALL"]
    assert ("healthcheck" in service) is (name != "migrate")


def test_nothing_but_the_web_server_is_published_and_that_only_to_the_proxy() -> None:
    published = {name: service["ports"] for name, service in compose_file.services(SET).items() if "ports" in service}
    assert published == {"web": ["127.0.0.1:8000:8000"]}


def test_everything_waits_for_the_migrations() -> None:
    for name in set(OURS) - {"migrate"}:
        depends = compose_file.services(SET)[name]["depends_on"]
        assert depends["migrate"] == {"condition": "service_completed_successfully"}


@pytest.fixture
def containers(redis_url: str, django_db_modify_db_settings: None, tmp_path: Path) -> Iterator[dict[str, Any]]:
    """The services with the addresses of the test's own PostgreSQL (an empty database) and Redis in their environment."""
    with empty_database("wm_compose_" + os.environ.get("PYTEST_XDIST_WORKER", "one")) as address:
        services = compose_file.services(SET)
        for name in OURS:
            services[name]["environment"] |= {
                "DATABASE_URL": address,
                "CELERY_BROKER_URL": settings.CELERY_BROKER_URL + "?virtual_host=3",  # apart from the session's worker
                "CACHE_URL": redis_url.replace("unix://", "redis:///", 1),
                "DATA_DIR": str(tmp_path),
                "STATIC_ROOT": str(tmp_path / "static"),
                "BEAT_SCHEDULE": str(tmp_path / "beat-schedule"),
                "PORT": str(free_port()),
            }
        yield services


def test_the_commands_of_the_file_serve_and_their_health_checks_pass(
    containers: dict[str, Any], tmp_path: Path
) -> None:
    migrate = start(containers["migrate"], tmp_path / "migrate.log")
    assert migrate.wait(timeout=120) == 0, (tmp_path / "migrate.log").read_text()
    with ExitStack() as running:
        for name in ("web", "worker", "beat"):
            running.enter_context(stopped_at_the_end(start(containers[name], tmp_path / f"{name}.log")))
        for name in ("web", "worker", "beat"):
            _wait_until(partial(healthy, containers[name]), (tmp_path / f"{name}.log").read_text)


def test_the_health_checks_fail_when_nothing_runs(containers: dict[str, Any]) -> None:
    assert [name for name in ("web", "worker", "beat") if healthy(containers[name])] == []


def start(service: dict[str, Any], log: Path) -> "subprocess.Popen[bytes]":
    with log.open("wb") as output:
        return spawn(service["command"], environment=_environment(service), output=output, cwd=settings.BASE_DIR)


def healthy(service: dict[str, Any]) -> bool:
    kind, *command = service["healthcheck"]["test"]
    assert kind == "CMD"
    environment = _environment(service)
    check = subprocess.run(
        command, env=environment, cwd=settings.BASE_DIR, capture_output=True, check=False, timeout=60
    )
    return check.returncode == 0


def _environment(service: dict[str, Any]) -> dict[str, str]:
    programs = f"{Path(sys.executable).parent}:{os.environ['PATH']}"
    declared: dict[str, str] = service["environment"]
    return {"PATH": programs, "DJANGO_SETTINGS_MODULE": "config.settings"} | declared


@contextmanager
def stopped_at_the_end(child: "subprocess.Popen[bytes]") -> Iterator[None]:
    try:
        yield
    finally:
        child.terminate()
        child.wait(timeout=60)


@contextmanager
def empty_database(name: str) -> Iterator[str]:
    drop = sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name))
    with psycopg.connect(database_url("postgres"), autocommit=True) as connection:
        connection.execute(drop)
        connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield database_url(name)
        connection.execute(drop)


def _wait_until(condition: Callable[[], bool], log: Callable[[], str], seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline, log()
        time.sleep(0.2)
