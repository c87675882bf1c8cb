"""Starts what the tests need, once a run. Loaded before Django's settings are, because they read the addresses from here.

Every address is settled first and costs nothing; a server starts with the first test that asks for it (with xdist the
PostgreSQL of the run starts in the process that controls the workers). A DATABASE_URL from outside wins.
"""

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path

import pytest

from tests.services.postgres import TestPostgres

FOLDER = "WITNESSMARK_TEST_FOLDER"
_postgres: TestPostgres | None = None


@pytest.hookimpl(wrapper=True)
def pytest_load_initial_conftests() -> Generator[None]:
    """Runs before pytest-django reads the settings."""
    global _postgres
    if FOLDER not in os.environ:  # else an xdist worker: the controller made and told everything
        folder = Path(tempfile.mkdtemp(prefix="wm-"))
        folder.chmod(0o711)  # the server's account passes through
        os.environ[FOLDER] = str(folder)
        if "DATABASE_URL" not in os.environ:
            _postgres = TestPostgres(folder)
            os.environ["DATABASE_URL"] = _postgres.url
    os.environ["DATA_DIR"] = str(folder_of_this_process() / "data")
    os.environ["CACHE_URL"] = f"filecache://{folder_of_this_process() / 'cache'}"  # a worker process shares it
    os.environ["CELERY_BROKER_URL"] = f"redis+socket://{folder_of_this_process() / 'redis.sock'}"
    return (yield)


def folder_of_this_process() -> Path:
    """A short path, because Unix sockets lie in it."""
    folder = Path(os.environ[FOLDER]) / os.environ.get("PYTEST_XDIST_WORKER", "one")
    folder.mkdir(exist_ok=True)
    return folder


def start_postgres() -> None:
    """Does nothing in a worker, with a DATABASE_URL from outside, and the second time."""
    if _postgres is not None:
        _postgres.start()


def pytest_sessionstart(session: pytest.Session) -> None:
    if session.config.getoption("numprocesses", None):
        start_postgres()


def pytest_unconfigure() -> None:
    if "PYTEST_XDIST_WORKER" in os.environ:
        return
    if _postgres is not None:
        _postgres.stop()
    shutil.rmtree(os.environ[FOLDER], ignore_errors=True)
