"""Deny by default: roles, and in which order refusals come."""

from uuid import uuid4

import pytest

from fleet.models import AircraftType, Membership, Role
from tests.api.clients import anonymous, client_of, problem
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"


def member(*roles: str) -> Membership:
    return MemberFactory.create(roles=list(roles))


@pytest.mark.parametrize("role", Role.values)
def test_every_role_reads_what_names_no_role(role: str) -> None:
    assert client_of(member(role)).get(THINGS).status_code == 200


@pytest.mark.parametrize("role", Role.values)
def test_only_a_named_role_writes(role: str) -> None:
    response = client_of(member(role)).post(THINGS, {"name": "one"})
    if role == Role.PILOT:
        assert response.status_code == 201
    else:
        assert "Pilot" in problem(response, 403, "forbidden")["detail"]
        assert not AircraftType.objects.exists()


def test_one_role_of_several_is_enough() -> None:
    assert client_of(member(Role.AUDITOR, Role.PILOT)).post(THINGS, {"name": "one"}).status_code == 201


@pytest.mark.parametrize("role", Role.values)
def test_an_unsafe_method_that_names_nobody_is_for_nobody(role: str) -> None:
    problem(client_of(member(role)).post("/api/v1/nobody"), 403, "forbidden")


def test_a_safe_method_can_name_roles() -> None:
    assert client_of(member(Role.AUDITOR)).get("/api/v1/auditors").status_code == 200
    assert "Auditor" in problem(client_of(member(Role.PILOT)).get("/api/v1/auditors"), 403, "forbidden")["detail"]


def test_an_auditor_never_writes_even_when_let() -> None:
    problem(client_of(member(Role.AUDITOR)).post("/api/v1/auditors"), 403, "forbidden")
    assert client_of(member(Role.AUDITOR, Role.INSPECTOR)).post("/api/v1/auditors").status_code == 201


def test_401_comes_before_everything_else() -> None:
    thing = f"{THINGS}/{uuid4()}"
    problem(anonymous().patch(thing, {"unknown": 1}, HTTP_IF_MATCH='"old"'), 401, "not_authenticated")
    problem(anonymous().post(f"{THINGS}?unknown=1", b"{", content_type="text/plain"), 401, "not_authenticated")


def test_403_comes_before_the_body_is_read() -> None:
    problem(client_of(member(Role.AUDITOR)).post(THINGS, b"{", content_type="text/plain"), 403, "forbidden")


def test_404_comes_before_412() -> None:
    response = client_of(member(Role.PILOT)).patch(f"{THINGS}/{uuid4()}", {}, HTTP_IF_MATCH='"old"')
    problem(response, 404, "not_found")


def test_another_clubs_thing_is_not_there() -> None:
    theirs = client_of(member(Role.PILOT)).post(THINGS, {"name": "theirs"}).json()
    mine = client_of(member(Role.PILOT))
    thing = f"{THINGS}/{theirs['id']}"
    unknown = problem(mine.get(f"{THINGS}/{uuid4()}"), 404, "not_found")
    assert problem(mine.get(thing), 404, "not_found") == unknown
    assert problem(mine.patch(thing, {}, HTTP_IF_MATCH="*"), 404, "not_found") == unknown
    assert problem(mine.post(f"{thing}/act"), 404, "not_found") == unknown
    assert mine.get(THINGS).json()["results"] == []
