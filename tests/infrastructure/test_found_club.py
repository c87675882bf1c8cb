"""``manage.py found_club``: the first club and its administrator, or nothing at all."""

from collections.abc import Iterator
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from rest_framework.test import APIClient

from config.management.commands import found_club as command
from fleet.errors import Invalid
from fleet.models import Club, Event, EventChain, Membership, Person, Role
from fleet.services import people

pytestmark = pytest.mark.django_db

PASSWORD = "three windsocks and a winch"
GIVEN = {
    "name": "Invented Gliding Club",
    "time_zone": "Europe/Lisbon",
    "username": "first",
    "full_name": "Invented Founder",
    "email": "first@club.example",
}


@pytest.fixture(autouse=True)
def _password(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIRST_PASSWORD", PASSWORD)


def found(**changes: str) -> str:
    said = StringIO()
    options = [f"--{name.replace('_', '-')}={value}" for name, value in (GIVEN | changes).items()]
    call_command("found_club", *options, stdout=said)
    return said.getvalue()


def refusal(**changes: str) -> str:
    """What is said, and that nothing is left behind."""
    before = [model.objects.count() for model in (Club, Person, Membership, Event, EventChain)]
    with pytest.raises(CommandError) as refused:
        found(**changes)
    assert [model.objects.count() for model in (Club, Person, Membership, Event, EventChain)] == before
    return str(refused.value)


def answers(monkeypatch: pytest.MonkeyPatch, *typed: str) -> Iterator[str]:
    """Types these, one after the other, and then hangs up; what is left of them was not asked for."""
    monkeypatch.delenv("FIRST_PASSWORD")
    left = iter(typed)

    def ask(prompt: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr(command, "getpass", ask)
    return left


def test_the_administrator_signs_in_and_adds_the_next_member() -> None:
    assert found() == "Invented Gliding Club is founded. first is its administrator and adds the other members.\n"
    member = Membership.objects.get()
    assert (member.club.name, member.club.time_zone) == ("Invented Gliding Club", "Europe/Lisbon")
    assert (member.person.full_name, member.person.email) == ("Invented Founder", "first@club.example")
    assert member.roles == [Role.ADMINISTRATOR]
    assert not member.person.is_superuser and not member.person.is_staff
    client = APIClient()
    signed_in = client.post("/api/v1/tokens", {"username": "first", "password": PASSWORD, "name": "test"})
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {signed_in.json()['token']}")
    pilot = {"username": "p", "full_name": "Invented Pilot", "roles": ["pilot"], "password": PASSWORD}
    assert client.post("/api/v1/members", pilot).status_code == 201
    assert client.get("/api/v1/events/verify").json()["valid"] is True


def test_the_record_begins_with_it_and_holds_no_secret() -> None:
    found()
    events = Event.objects.order_by("sequence")
    assert [event.kind for event in events] == ["club_found", "member_add"]
    assert not [one for one in events if PASSWORD in one.canonical or "club.example" in one.canonical]


def test_the_password_is_asked_for_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    left = answers(monkeypatch, PASSWORD, PASSWORD)
    found()
    assert Person.objects.get().check_password(PASSWORD)
    assert list(left) == []


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ((PASSWORD, f"{PASSWORD} "), "The two passwords differ."),
        ((PASSWORD,), "set FIRST_PASSWORD"),
        ((), "set FIRST_PASSWORD"),
        (("", ""), "too short"),
    ],
)
def test_without_a_password_given_twice_nothing_is_founded(
    monkeypatch: pytest.MonkeyPatch, typed: tuple[str, ...], why: str
) -> None:
    answers(monkeypatch, *typed)
    assert why in refusal()


@pytest.mark.parametrize("weak", ["windsock", "1q2w3e4r5t6y", "first@club.example"])
def test_a_weak_password_is_refused(monkeypatch: pytest.MonkeyPatch, weak: str) -> None:
    monkeypatch.setenv("FIRST_PASSWORD", weak)
    assert "password is too" in refusal()
    assert weak not in refusal()


@pytest.mark.parametrize("name", ["Invented Gliding Club", "INVENTED gliding club", " Invented Gliding Club "])
def test_a_name_that_a_club_has_is_refused(name: str) -> None:
    found()
    assert "A club of this name exists." in refusal(name=name, username="second")


def test_a_user_name_that_somebody_has_leaves_no_club_without_administrator() -> None:
    found()
    assert "This user name is taken." in refusal(name="Second Invented Club", username="FIRST")


@pytest.mark.parametrize(
    "zone", ["Europe/Nowhere", "europe/lisbon", "Europe", "+01:00", "localtime", "Factory", "../etc/localtime"]
)
def test_an_unknown_time_zone_is_refused(zone: str) -> None:
    assert "No such time zone." in refusal(time_zone=zone)
    with pytest.raises(Invalid) as refused:
        people.found_club(at=timezone.now(), name="Invented Gliding Club", time_zone=zone)
    assert [one.pointer for one in refused.value.errors] == ["/time_zone"]


@pytest.mark.parametrize(
    ("field", "value", "option"),
    [
        ("name", " ", "--name:"),
        ("name", "x" * 121, "--name:"),
        ("time_zone", "", "--time-zone:"),
        ("username", "two words", "--username:"),
        ("full_name", "\t", "--full-name:"),
        ("email", "nowhere", "--email:"),
    ],
)
def test_what_the_record_cannot_hold_is_refused_by_the_name_of_its_option(field: str, value: str, option: str) -> None:
    assert option in refusal(**{field: value})
