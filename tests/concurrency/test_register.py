"""Several people at the same record of the register at the same instant, on real connections."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from threading import Barrier, Event
from typing import Any

import pytest
from django.db import connection, transaction
from django.utils import timezone

from fleet import assessment
from fleet.models import Aircraft, Authorisation, Club, Document, Membership, Role
from fleet.services import people, register
from tests.api.cast import Cast, make_cast
from tests.factories import AircraftTypeFactory, make_aircraft

pytestmark = pytest.mark.django_db(transaction=True)
AT_ONCE = 6


def together(acts: list[Callable[[], Any]]) -> list[Any]:
    """The results of acts that start at the same instant, each on a connection of its own."""
    start = Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        try:
            start.wait(timeout=30)
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def addresses(cast: Cast) -> dict[str, tuple[str, str]]:
    """Of one record of each kind, and its field that everybody wants to change."""
    aircraft = make_aircraft(cast.club)
    of_type = f"/api/v1/aircraft-types/{aircraft.aircraft_type_id}"
    document = Document.objects.filter(aircraft=aircraft).order_by("id")[0]
    item = aircraft.aircraft_type.items.order_by("id")[0]
    member = cast.members[Role.PILOT]
    return {
        "aircraft": (f"/api/v1/aircraft/{aircraft.id}", "base"),
        "type": (of_type, "manufacturer"),
        "item": (f"{of_type}/items/{item.id}", "title"),
        "document": (f"/api/v1/documents/{document.id}", "reference"),
        "member": (f"/api/v1/members/{member.id}", "full_name"),
    }


@pytest.mark.parametrize("kind", ["aircraft", "type", "item", "document", "member"])
def test_of_many_changes_to_one_version_one_is_made(kind: str) -> None:
    cast = make_cast()
    address, field = addresses(cast)[kind]
    tag = cast.administrator.get(address)["ETag"]
    headers = {"If-Match": tag}
    answers = together(
        [
            partial(cast.administrator.patch, address, {field: f"Value {value}"}, headers=headers)
            for value in range(AT_ONCE)
        ]
    )
    assert sorted(answer.status_code for answer in answers) == [200, *[412] * (AT_ONCE - 1)]
    (made,) = [answer for answer in answers if answer.status_code == 200]
    assert cast.administrator.get(address).json()[field] == made.json()[field]


def test_an_authorisation_is_revoked_once() -> None:
    cast = make_cast()
    address = f"/api/v1/authorisations/{Authorisation.objects.get(membership=cast.members[Role.INSPECTOR]).id}"
    headers = {"If-Match": cast.administrator.get(address)["ETag"]}
    revoke = [lambda: cast.administrator.patch(address, {"revoked": True}, headers=headers)] * AT_ONCE
    assert sorted(answer.status_code for answer in together(revoke)) == [200, *[412] * (AT_ONCE - 1)]


def test_two_administrators_never_remove_each_other() -> None:
    cast = make_cast()
    made = cast.administrator.post(
        "/api/v1/members",
        {
            "username": f"second{cast.club.id.hex[:8]}",
            "full_name": "Second Administrator",
            "roles": ["administrator"],
            "password": "three windsocks and a winch",
        },
    )
    both = [f"/api/v1/members/{cast.members[Role.ADMINISTRATOR].id}", made["Location"]]
    tags = [cast.administrator.get(address)["ETag"] for address in both]
    answers = together(
        [
            partial(cast.administrator.patch, address, {"roles": ["pilot"]}, headers={"If-Match": tag})
            for address, tag in zip(both, tags, strict=True)
        ]
    )
    assert sorted(answer.status_code for answer in answers)[0] == 200
    left = Membership.objects.filter(club=cast.club, active=True, roles__contains=[Role.ADMINISTRATOR])
    assert left.count() == 1


def test_an_aircraft_that_comes_while_settings_change_is_judged_by_the_new_ones() -> None:
    """The settings are written and not committed when the aircraft is added: it has to wait for them."""
    club = make_cast(required_documents=[]).club
    administrator = Membership.objects.get(club=club, roles__contains=[Role.ADMINISTRATOR])
    of_type = AircraftTypeFactory.create(club=club)
    written, begun = Event(), Event()

    def change_settings() -> None:
        try:
            with transaction.atomic():
                locked = Club.objects.select_for_update(no_key=True).get(id=club.id)
                changes = {"required_documents": ["insurance"]}
                people.change_settings(locked, by=administrator, at=timezone.now(), changes=changes)
                written.set()
                assert begun.wait(timeout=30)
                with connection.cursor() as cursor:
                    cursor.execute("SELECT pg_sleep(0.5)")
        finally:
            connection.close()

    def add_aircraft() -> Aircraft:
        try:
            assert written.wait(timeout=30)
            begun.set()
            return register.add_aircraft(
                aircraft_type=of_type, by=administrator, at=timezone.now(), registration="ZZ-K07", serial_number="7"
            )[0]
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        settings, adding = pool.submit(change_settings), pool.submit(add_aircraft)
        settings.result(timeout=60)
        aircraft = adding.result(timeout=60)
    stored = Aircraft.objects.select_related("airworthiness").get(id=aircraft.id).airworthiness
    now = assessment.assess([aircraft.id], timezone.now())[aircraft.id]
    assert stored.status == now.status.code == "grounded"
