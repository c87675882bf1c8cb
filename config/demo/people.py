"""The invented people of the demo, their roles and authorisations."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import make_password

from config.demo.days import Days
from fleet.models import AircraftCategory, Club, Membership, Privilege, Role
from fleet.services import people

ISSUER = "Office of Civil Aviation of Nimmerland"
YEAR = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberSpec:
    """A member; with a licence number, an inspector's authorisation for every category."""

    username: str
    full_name: str
    roles: tuple[Role, ...]
    licence: str = ""


MEMBERS = (
    MemberSpec(username="pilot", full_name="Mira Talwind", roles=(Role.PILOT,)),
    MemberSpec(username="second", full_name="Jost Wolkenlos", roles=(Role.PILOT,)),
    MemberSpec(username="officer", full_name="Ida Werkbank", roles=(Role.TECHNICAL_OFFICER, Role.PILOT)),
    MemberSpec(
        username="inspector", full_name="Emil Prüfstein", roles=(Role.INSPECTOR, Role.PILOT), licence="ZZ.66.90017"
    ),
    MemberSpec(
        username="inspector2", full_name="Nora Zweitblick", roles=(Role.INSPECTOR, Role.PILOT), licence="ZZ.66.90042"
    ),
    MemberSpec(username="auditor", full_name="Otto Randnotiz", roles=(Role.AUDITOR,)),
    MemberSpec(username="admin", full_name="Vera Vereinsbuch", roles=(Role.ADMINISTRATOR,)),
)
OUTSIDERS = (
    MemberSpec(
        username="outsider",
        full_name="Gus Nebenan",
        roles=(Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR, Role.ADMINISTRATOR),
        licence="ZZ.66.90108",
    ),
)


def _enrol(spec: MemberSpec, club: Club, *, hashed: str, at: datetime) -> Membership:
    member = people.enrol(
        club=club,
        by=None,
        at=at,
        username=spec.username,
        full_name=spec.full_name,
        roles=spec.roles,
        password=secrets.token_urlsafe(),
    )
    # Past the validators, on purpose: whoever starts the demo chooses its password, be it "demo".
    member.person.password = hashed
    member.person.save(update_fields=["password"])
    return member


def _authorise(member: Membership, licence: str, *, days: Days, at: datetime) -> None:
    people.authorise(
        member=member,
        by=None,
        at=at,
        licence_number=licence,
        privileges=Privilege.values,
        categories=AircraftCategory.values,
        valid_from=days.day(-2 * YEAR),
        valid_until=days.day(3 * YEAR),
        issued_by=ISSUER,
    )


def enrol_all(
    specs: Sequence[MemberSpec], club: Club, *, password: str, days: Days, at: datetime
) -> dict[str, Membership]:
    """Everybody of a club that is being founded, by user name."""
    hashed = make_password(password)  # once: it takes long by design, and everybody's is the same
    members = {spec.username: _enrol(spec, club, hashed=hashed, at=at) for spec in specs}
    for spec in specs:
        if spec.licence:
            _authorise(members[spec.username], spec.licence, days=days, at=at)
    return members
