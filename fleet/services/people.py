"""Members, authorisations and the club's settings: what the administrator keeps."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any
from uuid import UUID, uuid4
from zoneinfo import available_timezones

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from fleet import assessment, events
from fleet.errors import Conflict, invalid
from fleet.models import (
    Aircraft,
    AircraftType,
    Authorisation,
    Club,
    Membership,
    Person,
    Role,
)
from fleet.permissions import ADMINISTRATORS, require_role
from fleet.services.register import apply_changes


def _entry(
    kind: str,
    subject_type: str,
    subject_id: UUID,
    by: Membership | None,
    at: datetime,
    data: Mapping[str, Any],
) -> events.Entry:
    return events.Entry(
        kind=kind,
        at=at,
        by=by,
        subject_type=subject_type,
        subject_id=subject_id,
        data=data,
    )


def _check_password(password: str, person: Person) -> None:
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise invalid("/password", "too_weak", " ".join(error.messages)) from error


@cache
def _time_zones() -> frozenset[str]:
    """IANA names. What the machine itself is set to, or has not been set to, is not a place."""
    return frozenset(available_timezones() - {"localtime", "Factory"})


@transaction.atomic
def found_club(*, at: datetime, name: str, time_zone: str, **settings: Any) -> Club:
    """A new club with its event chain."""
    if Club.objects.filter(name__iexact=name).exists():
        raise invalid("/name", "taken", "A club of this name exists. Choose another name.")
    if time_zone not in _time_zones():
        raise invalid(
            "/time_zone", "unknown_time_zone", "No such time zone. Give its IANA name, such as Europe/Vienna."
        )
    club = Club.objects.create(name=name, time_zone=time_zone, **settings)
    events.append_for_club(
        club,
        [
            _entry(
                "club_found",
                "club",
                club.id,
                None,
                at,
                {"name": name, "time_zone": time_zone},
            )
        ],
    )
    return club


@transaction.atomic
def enrol(
    *,
    club: Club,
    by: Membership | None,
    at: datetime,
    username: str,
    full_name: str,
    roles: Sequence[str],
    password: str,
    email: str = "",
    member_id: UUID | None = None,
) -> Membership:
    """A new person as a member with roles. ``by`` None: the club is just being founded."""
    if by is not None:
        require_role(by, ADMINISTRATORS, "add members")
    if Person.objects.filter(username__iexact=username).exists():
        raise invalid("/username", "taken", "This user name is taken. Choose another.")
    person = Person(username=username, full_name=full_name, email=email)
    _check_password(password, person)
    person.set_password(password)
    person.save(force_insert=True)
    member = Membership.objects.create(
        id=member_id or uuid4(),
        club=club,
        person=person,
        roles=sorted(set(roles)),
        joined_at=at,
    )
    data = {"username": username, "full_name": full_name, "roles": member.roles}
    events.append_for_club(club, [_entry("member_add", "member", member.id, by, at, data)])
    return member


def _check_last_administrator(member: Membership, changes: Mapping[str, Any]) -> None:
    stays = changes.get("active", member.active) and Role.ADMINISTRATOR in changes.get("roles", member.roles)
    others = Membership.objects.filter(
        club_id=member.club_id, active=True, roles__contains=[Role.ADMINISTRATOR]
    ).exclude(id=member.id)
    if not stays and Role.ADMINISTRATOR in member.roles and not others.exists():
        raise Conflict(
            "last_administrator",
            "The club needs an administrator. Appoint another one first.",
            {"roles": member.roles},
        )


@transaction.atomic
def change_member(member: Membership, *, by: Membership, at: datetime, changes: Mapping[str, Any]) -> Membership:
    """Change a locked membership's roles or end it; a disabled member is out at the next request."""
    require_role(by, ADMINISTRATORS, "change members")
    _check_last_administrator(member, changes)
    own = {name: value for name, value in changes.items() if name in ("roles", "active")}
    if "roles" in own:
        own["roles"] = sorted(set(own["roles"]))
    done = apply_changes(member, own)
    done |= apply_changes(
        member.person,
        {name: value for name, value in changes.items() if name in ("full_name", "email")},
    )
    if "email" in done:
        done["email"] = {"changed": True}  # the record is read by every member and kept for ever
    if done:
        events.append_for_club(by.club, [_entry("member_change", "member", member.id, by, at, done)])
    return member


def _types(club_id: UUID, ids: Sequence[UUID]) -> list[AircraftType]:
    types = list(AircraftType.objects.filter(club_id=club_id, id__in=ids))
    if len(types) != len(set(ids)):
        raise invalid("/aircraft_types", "unknown_type", "Name aircraft types of your club only.")
    return types


@transaction.atomic
def authorise(
    *,
    member: Membership,
    by: Membership | None,
    at: datetime,
    licence_number: str,
    privileges: Sequence[str],
    categories: Sequence[str],
    valid_from: date,
    valid_until: date,
    issued_by: str,
    aircraft_types: Sequence[UUID] = (),
    authorisation_id: UUID | None = None,
) -> Authorisation:
    """Record a member's authorisation. Nobody records their own. ``by`` None: the club is just being founded."""
    if by is not None:
        require_role(by, ADMINISTRATORS, "record authorisations")
        if by.id == member.id:
            raise Conflict(
                "own_authorisation",
                "Nobody records an authorisation of their own. Ask another administrator.",
            )
    if valid_until < valid_from:
        raise invalid("/valid_until", "out_of_order", "The last valid day lies before the first.")
    types = _types(member.club_id, aircraft_types)
    authorisation = Authorisation.objects.create(
        id=authorisation_id or uuid4(),
        membership=member,
        licence_number=licence_number,
        privileges=sorted(set(privileges)),
        categories=sorted(set(categories)),
        valid_from=valid_from,
        valid_until=valid_until,
        issued_by=issued_by,
    )
    authorisation.aircraft_types.set(types)
    data = {
        "member": member.id,
        "licence_number": licence_number,
        "privileges": authorisation.privileges,
        "categories": authorisation.categories,
        "aircraft_types": [one.designation for one in types],
        "valid_from": valid_from,
        "valid_until": valid_until,
        "issued_by": issued_by,
    }
    events.append_for_club(
        member.club,
        [_entry("authorisation_add", "authorisation", authorisation.id, by, at, data)],
    )
    return authorisation


@transaction.atomic
def change_authorisation(
    authorisation: Authorisation,
    *,
    by: Membership,
    at: datetime,
    changes: Mapping[str, Any],
) -> Authorisation:
    """Shorten or revoke a locked authorisation; a longer or wider one is a new record."""
    require_role(by, ADMINISTRATORS, "change authorisations")
    until = changes.get("valid_until", authorisation.valid_until)
    if until > authorisation.valid_until:
        raise invalid(
            "/valid_until",
            "longer",
            "An authorisation is only shortened here. Record the new one.",
        )
    if until < authorisation.valid_from:
        raise invalid("/valid_until", "out_of_order", "The last valid day lies before the first.")
    wanted: dict[str, Any] = {"valid_until": until}
    if changes.get("revoked") and authorisation.revoked_at is None:
        wanted["revoked_at"] = at
    done = apply_changes(authorisation, wanted)
    if done:
        events.append_for_club(
            by.club,
            [
                _entry(
                    "authorisation_change",
                    "authorisation",
                    authorisation.id,
                    by,
                    at,
                    done,
                )
            ],
        )
    return authorisation


@transaction.atomic
def change_settings(club: Club, *, by: Membership, at: datetime, changes: Mapping[str, Any]) -> Club:
    """Change a locked club's settings; every aircraft of the club is judged anew."""
    require_role(by, ADMINISTRATORS, "change the club's settings")
    fleet = assessment.lock_many(Aircraft.objects.filter(club=club), at=at)
    done = apply_changes(club, changes)
    if done:
        entry = _entry("club_settings_change", "club", club.id, by, at, done)
        events.append_for_club(club, [entry])
        assessment.conclude(fleet, at=at, entries={one.id: [entry] for one in fleet})
    return club
