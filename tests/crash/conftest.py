"""The record that tests break: put back row by row before each, rolled back after it."""

import pytest
from django.db import connection

from fleet.models import Club
from tests.crash.record import keep_a_record
from tests.scenes import scene


@pytest.fixture
def record(db: None) -> Club:
    """The club of ``keep_a_record``."""
    scene("a record", keep_a_record)
    connection.check_constraints()  # as a commit would; until then the server refuses more than our triggers do
    return Club.objects.filter(aircraft__defects__number=2).distinct().get()
