"""Scenes that many tests start from: built once a run through the services, afterwards put back row by row, much quicker.

Ask for a scene before anything else is stored in the test.
"""

from collections.abc import Callable, Mapping
from uuid import UUID

from django.apps import apps
from django.db import connection

from fleet.models import Aircraft, Club, Membership, Role
from tests.factories import ClubFactory, InspectorFactory, MemberFactory, authorise, fresh, make_aircraft
from tests.unchanged import OWN_APPS

FREE = UUID("ffffffff-ffff-4fff-bfff-ffffffffffff")  # a member whom the factories, which go by id, pick last
_BUILT: dict[str, Mapping[str, str]] = {}  # by scene: by table its rows as JSON


def _tables() -> list[str]:
    models = [model for label in OWN_APPS for model in apps.get_app_config(label).get_models(include_auto_created=True)]
    return [model._meta.db_table for model in models]


def _rows() -> Mapping[str, str]:
    selects = (f"SELECT '{one}', json_agg(t)::text FROM {one} t" for one in _tables())  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(selects))
        return {table: rows for table, rows in cursor.fetchall() if rows is not None}


def _put_back(rows: Mapping[str, str]) -> None:
    # foreign keys are checked at the end, so the order does not matter
    inserts = (f"INSERT INTO {one} SELECT * FROM json_populate_recordset(NULL::{one}, %s)" for one in rows)  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(";".join(inserts), list(rows.values()))


def scene(name: str, build: Callable[[], object]) -> None:
    """Everything that ``build`` stores, as it was stored the first time."""
    if name in _BUILT:
        _put_back(_BUILT[name])
        return
    build()
    _BUILT[name] = _rows()


def an_aircraft() -> Aircraft:
    """A serviceable aircraft with club, catalogue, sheets, documents and three authorised inspectors, one of them ``FREE``."""

    def build() -> None:
        aircraft = make_aircraft(ClubFactory.create())
        for _ in range(2):
            InspectorFactory.create(club=aircraft.club)
        InspectorFactory.create(club=aircraft.club, member_id=FREE)

    scene("an aircraft", build)
    return fresh(Aircraft.objects.get())


def one_of_each_role(club: Club) -> dict[Role, Membership]:
    """A member for each role, holding no other, and all of them with an authorisation, so that only the role decides."""
    members = {}
    for role in Role:
        made = InspectorFactory if role == Role.INSPECTOR else MemberFactory
        members[role] = made.create(club=club, roles=[role], username=f"only-{role}")
        if role != Role.INSPECTOR:
            authorise(members[role])
    return members


def roles_in(club: Club) -> dict[Role, Membership]:
    """The members of ``one_of_each_role``."""
    found = Membership.objects.filter(club=club, person__username__startswith="only-").select_related("person", "club")
    return {Role(member.roles[0]): member for member in found}


def an_aircraft_and_everybody() -> Aircraft:
    """A serviceable aircraft whose club has a member of each role, see ``roles_in``."""

    def build() -> None:
        one_of_each_role(make_aircraft(ClubFactory.create()).club)

    scene("an aircraft and everybody", build)
    return fresh(Aircraft.objects.get())
