"""The first club of an installation, and its administrator, who adds everybody else."""

import os
from argparse import ArgumentParser
from getpass import getpass

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from fleet.errors import Invalid
from fleet.models import Club, Person, Role
from fleet.services import people

VARIABLE = "FIRST_PASSWORD"


class Command(BaseCommand):
    """Founds all of it or nothing."""

    help = (
        "Found a club with its first administrator. The password is asked for twice, "
        f"or read from the variable {VARIABLE}."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        for option, meaning in (
            ("--name", "name of the club"),
            ("--time-zone", "IANA name, e.g. Europe/Vienna; a flying day is a date in this zone"),
            ("--username", "what the administrator signs in with"),
            ("--full-name", "what the record shows of the administrator"),
        ):
            parser.add_argument(option, type=str.strip, required=True, help=meaning)
        parser.add_argument("--email", type=str.strip, default="", help="where the administrator gets mail")

    def handle(
        self,
        *args: object,
        name: str,
        time_zone: str,
        username: str,
        full_name: str,
        email: str,
        **options: object,
    ) -> None:
        check_shape(Club(name=name, time_zone=time_zone), Person(username=username, full_name=full_name, email=email))
        password = first_password()
        now = timezone.now()
        try:
            with transaction.atomic():
                club = people.found_club(at=now, name=name, time_zone=time_zone)
                people.enrol(
                    club=club,
                    by=None,
                    at=now,
                    username=username,
                    full_name=full_name,
                    email=email,
                    roles=[Role.ADMINISTRATOR],
                    password=password,
                )
        except Invalid as refusal:
            raise CommandError(refused([one.detail for one in refusal.errors])) from refusal
        self.stdout.write(f"{name} is founded. {username} is its administrator and adds the other members.")


def check_shape(*records: Club | Person) -> None:
    """What the services leave to their callers: lengths, characters, nothing left empty."""
    for record in records:
        try:
            record.clean_fields(exclude=["password"])
        except ValidationError as error:
            wrong = error.message_dict.items()
            raise CommandError(
                refused([f"--{field.replace('_', '-')}: {' '.join(messages)}" for field, messages in wrong])
            ) from error


def first_password() -> str:
    given = os.environ.get(VARIABLE)
    if given:
        return given
    try:
        first, again = getpass("Password: "), getpass("Password again: ")
    except EOFError as nobody:
        raise CommandError(refused([f"Nobody answers; set {VARIABLE} instead."])) from nobody
    if first != again:
        raise CommandError(refused(["The two passwords differ."]))
    return first


def refused(why: list[str]) -> str:
    return " ".join([*why, "Nothing was founded."])
