"""E-mail: one message a recipient, sent once, and tried again when it failed."""

from collections.abc import Iterator
from datetime import timedelta
from smtplib import SMTPException
from typing import Any

import psycopg
import pytest
from django.core.mail.backends import locmem
from django.db import connection

from fleet.models import Aircraft, Membership, Notification, Role
from fleet.services import mail
from tests.factories import NOW, ClubFactory, MemberFactory
from tests.services.jobs import database_url
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(minutes=1)


@pytest.fixture
def officers(aircraft: Aircraft) -> list[Membership]:
    """Two officers with an address, by name."""
    return [
        MemberFactory.create(
            club=aircraft.club,
            roles=[Role.TECHNICAL_OFFICER],
            full_name=f"Officer {name}",
            email=f"{name}@example.org",
        )
        for name in ("ada", "bea")
    ]


def noted(recipient: Membership, *messages: str) -> None:
    for number, message in enumerate(messages):
        Notification.objects.create(
            club=recipient.club,
            recipient=recipient,
            kind="odd",
            key=f"odd:{number}",
            message=message,
            created_at=NOW + timedelta(seconds=number),
        )


def sent_at() -> set[Any]:
    return set(Notification.objects.values_list("emailed_at", flat=True))


def test_each_recipient_gets_one_message_with_all_of_theirs(officers: list[Membership], mailoutbox: list[Any]) -> None:
    ada, bea = officers
    noted(ada, "ZZ-K01: first.", "ZZ-K02: second.")
    noted(bea, "ZZ-K01: first.")
    assert mail.send_notifications(LATER) == 3
    messages = {message.to[0]: message for message in mailoutbox}
    assert set(messages) == {"ada@example.org", "bea@example.org"}
    assert messages["ada@example.org"].subject == f"{ada.club.name}: 2 notices"
    assert messages["bea@example.org"].subject == f"{bea.club.name}: 1 notice"
    body = messages["ada@example.org"].body
    assert body.startswith("Officer ada,\n\n- ZZ-K01: first.\n- ZZ-K02: second.\n")
    assert body.endswith(mail.CLOSING)
    assert sent_at() == {LATER}


def test_what_was_sent_is_not_sent_again(officers: list[Membership], mailoutbox: list[Any]) -> None:
    noted(officers[0], "ZZ-K01: first.")
    mail.send_notifications(LATER)
    with unchanged():
        assert mail.send_notifications(LATER) == 0
    assert len(mailoutbox) == 1


@pytest.mark.parametrize("why", ["no address", "gone"])
def test_who_cannot_be_written_to_keeps_the_notification(aircraft: Aircraft, mailoutbox: list[Any], why: str) -> None:
    member = MemberFactory.create(club=aircraft.club, email="" if why == "no address" else "c@example.org")
    if why == "gone":
        Membership.objects.filter(id=member.id).update(active=False)
    noted(member, "ZZ-K01: first.")
    assert mail.send_notifications(LATER) == 0
    assert (mailoutbox, sent_at()) == ([], {None})


@pytest.fixture
def failing_for_ada(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """The mail server refuses one address, until the patch is undone."""
    send = locmem.EmailBackend.send_messages

    def refusing(self: locmem.EmailBackend, messages: Any) -> int:
        if any("ada@example.org" in message.to for message in messages):
            raise SMTPException("mailbox full")
        return send(self, messages)

    with monkeypatch.context() as patch:
        patch.setattr(locmem.EmailBackend, "send_messages", refusing)
        yield patch


@pytest.mark.parametrize("error", [SMTPException("full"), ConnectionRefusedError(), TimeoutError()])
def test_a_server_that_is_down_keeps_them_for_the_next_run(
    officers: list[Membership], mailoutbox: list[Any], monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    noted(officers[0], "ZZ-K01: first.")

    def down(*_args: object) -> int:
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(locmem.EmailBackend, "send_messages", down)
        assert mail.send_notifications(LATER) == 0
    assert sent_at() == {None}
    assert mail.send_notifications(LATER) == 1
    assert len(mailoutbox) == 1


def test_one_failing_address_keeps_nobody_else_waiting(
    officers: list[Membership], mailoutbox: list[Any], failing_for_ada: pytest.MonkeyPatch
) -> None:
    for officer in officers:
        noted(officer, "ZZ-K01: first.")
    assert mail.send_notifications(LATER) == 1
    assert [message.to for message in mailoutbox] == [["bea@example.org"]]
    failing_for_ada.undo()
    assert mail.send_notifications(LATER) == 1
    assert [message.to for message in mailoutbox] == [["bea@example.org"], ["ada@example.org"]]


def test_a_second_run_meanwhile_has_nothing_to_do(officers: list[Membership], mailoutbox: list[Any]) -> None:
    noted(officers[0], "ZZ-K01: first.")
    key = "SELECT {}(hashtextextended('send_notifications', 0))"
    with psycopg.connect(database_url()) as elsewhere:
        elsewhere.execute(key.format("pg_advisory_lock"))
        with unchanged():
            assert mail.send_notifications(LATER) == 0
        elsewhere.execute(key.format("pg_advisory_unlock"))
    assert mail.send_notifications(LATER) == 1
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND pid = pg_backend_pid()")
        assert cursor.fetchone() == (0,)


def test_other_clubs_are_written_to_in_their_own_name(mailoutbox: list[Any]) -> None:
    for name in ("North", "South"):
        club = ClubFactory.create(name=name)
        noted(MemberFactory.create(club=club, email=f"{name}@example.org"), f"{name} only.")
    mail.send_notifications(LATER)
    for message in mailoutbox:
        name = message.to[0].split("@")[0]
        assert message.subject.startswith(f"{name}: ")
        assert f"{name} only." in message.body
