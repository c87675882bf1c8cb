"""Fixtures that every test may use: the database (pytest-django), Redis and a Celery worker, each a real server."""

import pytest

from tests.services.plugin import start_postgres

pytest_plugins = ["tests.services.flush", "tests.services.jobs"]


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """pytest-django asks for this before it creates a database."""
    start_postgres()
