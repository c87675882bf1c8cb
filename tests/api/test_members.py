"""Members over HTTP."""

from typing import Any
from uuid import uuid4

import pytest

from fleet.models import Event, Membership, Person, Role
from tests.api.cast import Cast, change, created, guarded, make_cast, not_there, only_for
from tests.api.clients import anonymous, client_of, pointers, problem
from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/members"
KIM: dict[str, Any] = {
    "username": "kim",
    "full_name": "Kim Example",
    "email": "kim@club.example",
    "roles": ["pilot", "technical_officer"],
    "password": "three windsocks and a winch",
}


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def test_a_new_member_signs_in(cast: Cast) -> None:
    made = created(cast.administrator, ADDRESS, KIM)
    assert {name: made[name] for name in ("username", "full_name", "email", "roles", "active")} == {
        "username": "kim",
        "full_name": "Kim Example",
        "email": "kim@club.example",
        "roles": ["pilot", "technical_officer"],
        "active": True,
    }
    sign_in = {"username": "kim", "password": KIM["password"], "name": "phone"}
    token = anonymous().post("/api/v1/tokens", sign_in)
    assert token.status_code == 201
    kim = client_of(Membership.objects.get(id=made["id"]))
    assert kim.get(f"{ADDRESS}/me").json() == made


def test_nothing_secret_is_answered_or_recorded(cast: Cast) -> None:
    answer = cast.administrator.post(ADDRESS, KIM)
    event = Event.objects.get(kind="member_add", subject_id=answer.json()["id"])
    for told in (answer.content.decode(), event.canonical):
        assert KIM["password"] not in told
        assert Person.objects.get(username="kim").password not in told
    change(cast.administrator, answer["Location"], {"email": "new@club.example"})
    record = cast.pilot.get("/api/v1/events?limit=200").content.decode()
    assert "club.example" not in record


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"username": "kim example"}, "/username", "invalid"),
        ({"username": ""}, "/username", "blank"),
        ({"email": "kim"}, "/email", "invalid"),
        ({"roles": []}, "/roles", "min_length"),
        ({"roles": ["chief"]}, "/roles/0", "invalid_choice"),
        ({"roles": "pilot"}, "/roles", "not_a_list"),
        ({"password": "short"}, "/password", "too_weak"),
        ({"password": "q1w2e3r4t5y6"}, "/password", "too_weak"),
        ({"password": "kim@club.example"}, "/password", "too_weak"),
        ({"active": False}, "/active", "unknown_field"),
    ],
)
def test_wrong_fields_are_named(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    body = problem(cast.administrator.post(ADDRESS, {**KIM, **wrong}), 422, "invalid")
    assert pointers(body) == {pointer: code}
    assert not Person.objects.filter(full_name=KIM["full_name"]).exists()


def test_a_user_name_is_there_once_in_any_spelling(cast: Cast) -> None:
    created(cast.administrator, ADDRESS, KIM)
    answer = problem(cast.administrator.post(ADDRESS, {**KIM, "username": "KIM"}), 422, "invalid")
    assert pointers(answer) == {"/username": "taken"}


def test_only_administrators_write(cast: Cast) -> None:
    pilot = cast.members[Role.PILOT]
    only_for(cast, {Role.ADMINISTRATOR}, "post", ADDRESS, KIM)
    only_for(cast, {Role.ADMINISTRATOR}, "patch", f"{ADDRESS}/{pilot.id}", {"roles": ["administrator"]})
    assert not Person.objects.filter(username="kim").exists()


def test_e_mail_is_for_administrators_and_oneself(cast: Cast) -> None:
    pilot = cast.members[Role.PILOT]
    Person.objects.filter(id=pilot.person_id).update(email="pilot@club.example")

    def seen(program: Any, address: str) -> Any:
        return program.get(address).json()["email"]

    address = f"{ADDRESS}/{pilot.id}"
    assert seen(cast.administrator, address) == seen(cast.pilot, address) == "pilot@club.example"
    assert seen(cast.pilot, f"{ADDRESS}/me") == "pilot@club.example"
    assert seen(cast.officer, address) is seen(cast.auditor, address) is None
    assert "pilot@club.example" not in cast.officer.get(ADDRESS).content.decode()
    assert "pilot@club.example" in cast.administrator.get(ADDRESS).content.decode()


def test_changes_need_the_current_version(cast: Cast) -> None:
    address = f"{ADDRESS}/{cast.members[Role.PILOT].id}"
    guarded(cast.administrator, address, {"full_name": "New Name", "roles": ["pilot", "inspector"]})


def test_a_disabled_member_is_out_at_the_next_request(cast: Cast) -> None:
    pilot = cast.members[Role.PILOT]
    assert cast.pilot.get(f"{ADDRESS}/me").status_code == 200
    assert change(cast.administrator, f"{ADDRESS}/{pilot.id}", {"active": False}).status_code == 200
    problem(cast.pilot.get(f"{ADDRESS}/me"), 401, "not_authenticated")


def test_a_role_that_was_taken_counts_no_more(cast: Cast) -> None:
    officer = cast.members[Role.TECHNICAL_OFFICER]
    assert change(cast.administrator, f"{ADDRESS}/{officer.id}", {"roles": ["pilot"]}).status_code == 200
    problem(cast.officer.post("/api/v1/aircraft-types", {}), 403, "forbidden")


@pytest.mark.parametrize("body", [{"active": False}, {"roles": ["pilot"]}])
def test_the_last_administrator_stays(cast: Cast, body: dict[str, Any]) -> None:
    address = f"{ADDRESS}/{cast.members[Role.ADMINISTRATOR].id}"
    refusal = problem(change(cast.administrator, address, body), 409, "conflict")
    assert refusal["code"] == "last_administrator"
    MemberFactory.create(club=cast.club, roles=[Role.ADMINISTRATOR])
    assert change(cast.administrator, address, body).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"active": "no"}, "/active", "invalid"),
        ({"username": "other"}, "/username", "unknown_field"),
        ({"password": "another long password"}, "/password", "unknown_field"),
        ({"roles": []}, "/roles", "min_length"),
    ],
)
def test_wrong_changes_change_nothing(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    address = f"{ADDRESS}/{cast.members[Role.PILOT].id}"
    before = cast.administrator.get(address).content
    assert pointers(problem(change(cast.administrator, address, wrong), 422, "invalid")) == {pointer: code}
    assert cast.administrator.get(address).content == before


def test_another_club_sees_and_changes_nothing(cast: Cast) -> None:
    address = f"{ADDRESS}/{cast.members[Role.PILOT].id}"
    other = make_cast().administrator
    not_there(other, address, f"{ADDRESS}/{uuid4()}")
    problem(other.patch(address, {"active": False}, headers={"If-Match": "*"}), 404, "not_found")
    listed = other.get(ADDRESS).json()["results"]
    assert not {one["id"] for one in listed} & {str(member.id) for member in cast.members.values()}


def test_filters_and_constant_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    def found(query: str) -> set[str]:
        return {one["id"] for one in cast.pilot.get(f"{ADDRESS}{query}").json()["results"]}

    members = {str(member.id) for member in cast.members.values()}
    cast.pilot.get(ADDRESS)  # notes the use of the token
    with django_assert_num_queries(2):  # token, members
        assert found("") == members
    inspector = cast.members[Role.INSPECTOR]
    assert found("?role=inspector") == {str(inspector.id)}
    assert found(f"?username={inspector.person.username}") == {str(inspector.id)}
    assert found("?active=false") == set()
