"""Whose a token is: one hand-written statement, because every request runs it and composing it would cost five times as much."""

from collections.abc import Iterator
from datetime import datetime
from itertools import islice
from typing import Any, TypeVar

from django.db import connection
from django.db.models import Model

from fleet.models.access import ApiToken
from fleet.models.people import Club, Membership, Person

M = TypeVar("M", bound=Model)


def _columns(alias: str, model: type[Model]) -> str:
    return ", ".join(f'{alias}."{field.column}"' for field in model._meta.concrete_fields)


_JOINED = (
    " FROM fleet_apitoken t JOIN fleet_membership m ON m.id = t.membership_id"
    " JOIN fleet_person p ON p.id = m.person_id JOIN fleet_club c ON c.id = m.club_id"
    " WHERE t.digest = %s AND t.revoked_at IS NULL AND t.expires_at > %s AND m.active AND p.is_active"
)
_SELECTED = (_columns("t", ApiToken), _columns("m", Membership), _columns("p", Person), _columns("c", Club))
_IN_FORCE = f"SELECT {', '.join(_SELECTED)}{_JOINED}"


def in_force(digest: str, at: datetime) -> ApiToken | None:
    """The token with its membership, person and club, if none of them has ended."""
    with connection.cursor() as cursor:
        cursor.execute(_IN_FORCE, [digest, at])
        row = cursor.fetchone()
    if row is None:
        return None
    values = iter(row)
    token, membership = _next(ApiToken, values), _next(Membership, values)
    membership.person, membership.club = _next(Person, values), _next(Club, values)
    token.membership = membership
    return token


def _next(model: type[M], values: Iterator[Any]) -> M:
    names = [field.attname for field in model._meta.concrete_fields]
    made: M = model.from_db(connection.alias, names, list(islice(values, len(names))))
    return made
