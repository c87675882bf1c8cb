"""R10: whichever statement of an act fails, nothing of the act is kept, and the same act succeeds afterwards."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.db import DatabaseError, InterfaceError, connection, transaction

from fleet import assessment, events
from fleet.models import Aircraft, AirworthinessState, Club
from fleet.services import showing
from tests.crash.acts import JOBS, LATER, NAMES, Act, Cast, acts_of, lay_scene
from tests.scenes import scene
from tests.services.jobs import database_url
from tests.stateful import snapshot

MOST_STATEMENTS = 200
AFTERWARDS = LATER + timedelta(minutes=1)
# the session is cut under these in CI, under every act with FAULTS=all
CUT = NAMES if os.environ.get("FAULTS") == "all" else ("report", "release", "expire deferrals")
READ_BY_EDGE = {
    "change document", "change aircraft", "change type", "change item", "change member", "end authorisation", "change settings",
}  # fmt: skip
JUDGED = {"fleet_airworthinessstate", "fleet_assessmentperiod", "fleet_event", "fleet_eventchain"}


class Saboteur:
    """Wraps every statement of the connection; at the chosen one it acts."""

    def __init__(self, number: int, sabotage: Callable[[Callable[..., Any], Any], None]) -> None:
        self.left, self.sabotage, self.struck = number, sabotage, ""

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.left -= 1
        if self.left == 0:
            self.struck = sql
            self.sabotage(execute, context)
        return execute(sql, params, many, context)


def fail(execute: Callable[..., Any], context: Any) -> None:
    """The server refuses the statement, and with it the rest of the transaction."""
    execute("SELECT 1 / 0", None, False, context)


def cut(execute: Callable[..., Any], context: Any) -> None:
    """The server ends the session, as when it is killed."""
    pid = connection.connection.info.backend_pid
    with psycopg.connect(database_url(), autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])


@pytest.fixture(autouse=True)
def _files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "MEDIA_ROOT", tmp_path)


def set_out(name: str) -> Act:
    """The act. Only those whose edge reads or locks something first need the edge's transaction."""
    scene("acts", lay_scene)
    act = acts_of(Cast())[name]
    return transaction.atomic(act) if name in READ_BY_EDGE else act


@contextmanager
def undone() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def rows_besides_judged() -> dict[str, int]:
    """How many rows each table has: what the act itself wrote, whatever the verdict."""
    found: dict[str, int] = {}
    for table, _key in snapshot.take():
        found[table] = found.get(table, 0) + (table not in JUDGED)
    return found


def check_whole() -> None:
    """Every record is valid and every look shows what the facts say."""
    for club in Club.objects.all():
        assert events.verify(club).valid
    ids = list(Aircraft.objects.values_list("id", flat=True))
    looks = showing.shown_now(AirworthinessState.objects.all(), AFTERWARDS)
    recomputed = {one: assessment.shown_values(verdict) for one, verdict in assessment.assess(ids, AFTERWARDS).items()}
    assert looks == recomputed


def test_names_are_all_there(db: None) -> None:
    scene("acts", lay_scene)
    assert set(NAMES) == set(acts_of(Cast()))


@pytest.mark.django_db
@pytest.mark.parametrize("name", NAMES)
def test_a_statement_that_fails(name: str) -> None:
    """Facts that cannot be gathered are the one exception: the act stands whole, and the aircraft is grounded for it."""
    act = set_out(name)
    before = snapshot.take()
    with undone():
        act()
        clean, whole = snapshot.take(), rows_besides_judged()
    assert clean != before, "this act does nothing, so nothing can fail"
    for number in count(1):
        saboteur = Saboteur(number, fail)
        with undone():
            failed = (_try_inside if number == 1 or name in JOBS else _try)(act, saboteur)
            if not saboteur.struck:
                break
            if snapshot.take() != before:
                assert not failed, f"{saboteur.struck} failed, the act was refused, and something of it was kept"
                assert rows_besides_judged() == whole, f"{saboteur.struck} failed, and half of the act was kept"
                check_whole()
            else:
                assert failed or name in JOBS, f"{saboteur.struck} failed, the act was done, and nothing was kept"
        assert snapshot.take() == before
        assert number < MOST_STATEMENTS
    act()
    assert rows_besides_judged() == whole, "the retry did something else"
    check_whole()


def _try_inside(act: Act, saboteur: Saboteur) -> bool:
    """In a savepoint of its own: an act's first statement makes one and may fail; a job reads before it makes one."""
    try:
        with transaction.atomic(), connection.execute_wrapper(saboteur):
            act()
    except (DatabaseError, InterfaceError):
        return True
    return False


def _try(act: Act, saboteur: Saboteur) -> bool:
    """Whether the act failed."""
    try:
        with connection.execute_wrapper(saboteur):
            act()
    except (DatabaseError, InterfaceError):
        return True
    return False


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("name", CUT)
def test_a_session_that_is_cut(name: str) -> None:
    act = set_out(name)
    before = snapshot.take()
    for number in count(1):
        saboteur = Saboteur(number, cut)
        failed = _try(act, saboteur)
        if not saboteur.struck:
            break
        connection.close()
        connection.closed_in_transaction = False
        after = snapshot.take()
        if after != before:  # a job has several transactions; each is whole
            assert name in JOBS
            check_whole()
            before = after
            continue
        assert failed or name in JOBS
        assert number < MOST_STATEMENTS
    assert not failed, "the retry was refused"
    check_whole()
