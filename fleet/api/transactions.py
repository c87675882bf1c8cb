"""One database transaction an unsafe request, tried again when the database asks for it."""

from collections.abc import Callable

from django.db import OperationalError, transaction
from django.http.response import HttpResponseBase

ATTEMPTS = 3
SERIALIZATION_FAILURE = "40001"
DEADLOCK_DETECTED = "40P01"


def sqlstate(error: BaseException) -> str:
    """SQLSTATE of a database error; blank when the server did not answer at all."""
    return getattr(error.__cause__, "sqlstate", None) or ""


def in_transaction(act: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """Commits what the act wrote when it answers below 400, else nothing; serialization failures and deadlocks run again."""
    for attempt in range(1, ATTEMPTS + 1):
        try:
            return _once(act)
        except OperationalError as error:
            if attempt == ATTEMPTS or sqlstate(error) not in {SERIALIZATION_FAILURE, DEADLOCK_DETECTED}:
                raise
    raise AssertionError("the last attempt returns or raises")


def _once(act: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    with transaction.atomic():
        response = act()
        if response.status_code >= 400:
            transaction.set_rollback(True)
        return response
