"""The demo, loaded once for each instant and rolled back after the tests that look at it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
from django.db import connection, transaction
from pytest_django import DjangoDbBlocker

from config.demo import load
from config.demo.load import CLUB, SECOND_CLUB
from fleet.models import Aircraft, Club

PASSWORD = "demo"  # too weak for anybody else
INSTANTS = {
    "leap day in winter": datetime(2028, 2, 29, 11, 5, 12, 345678, tzinfo=UTC),
    "midnight itself in summer": datetime(2026, 7, 17, 22, 0, tzinfo=UTC),
    "just after midnight": datetime(2026, 12, 31, 23, 0, 40, tzinfo=UTC),
    "hour that is left out": datetime(2026, 3, 29, 1, 0, tzinfo=UTC),
    "hour that comes twice": datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """The loaded demo."""

    now: datetime

    @property
    def club(self) -> Club:
        return Club.objects.get(name=CLUB)

    @property
    def second_club(self) -> Club:
        return Club.objects.get(name=SECOND_CLUB)

    def aircraft(self, registration: str) -> Aircraft:
        return Aircraft.objects.select_related("airworthiness", "aircraft_type").get(registration=registration)


def _loaded(now: datetime, blocker: DjangoDbBlocker) -> Iterator[Demo]:
    with blocker.unblock(), transaction.atomic():
        load(password=PASSWORD, now=now)
        connection.check_constraints()
        yield Demo(now=now)
        transaction.set_rollback(True)


@pytest.fixture(scope="package", params=list(INSTANTS))
def demo(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Demo]:
    """The demo at one of the instants."""
    yield from _loaded(INSTANTS[request.param], django_db_blocker)
