"""Clubs, members and authorised inspectors."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from factory.declarations import Sequence as Numbered
from factory.declarations import SubFactory

from fleet.models import AircraftCategory, Authorisation, Club, Membership, Privilege, Role
from fleet.services import people
from tests.factories.base import ServiceFactory
from tests.factories.constants import FOUNDED, PASSWORD, VALID_FROM, VALID_UNTIL


class ClubFactory(ServiceFactory[Club]):
    """A club with its event chain; settings by name, e.g. ``ClubFactory(triage_limit_days=1)``."""

    class Meta:
        model = Club

    at = FOUNDED
    name = Numbered(lambda n: f"Test Club {n}")
    time_zone = "Europe/Vienna"

    @classmethod
    def _create(cls, model_class: type[Club], *args: Any, **kwargs: Any) -> Club:
        return people.found_club(**kwargs)


class MemberFactory(ServiceFactory[Membership]):
    """A member (a pilot unless told otherwise) with ``PASSWORD``: ``MemberFactory(club=club, roles=[Role.AUDITOR])``."""

    class Meta:
        model = Membership

    club = SubFactory(ClubFactory)
    by = None
    at = FOUNDED
    username = Numbered(lambda n: f"member{n}")
    full_name = Numbered(lambda n: f"Invented Person {n}")
    roles: Sequence[str] = (Role.PILOT,)
    password = PASSWORD

    @classmethod
    def _create(cls, model_class: type[Membership], *args: Any, **kwargs: Any) -> Membership:
        return people.enrol(**kwargs)


class InspectorFactory(MemberFactory):
    """An inspector (and pilot), authorised as ``authorise`` says unless ``authorised=False``."""

    roles = (Role.PILOT, Role.INSPECTOR)
    authorised = True

    @classmethod
    def _create(cls, model_class: type[Membership], *args: Any, **kwargs: Any) -> Membership:
        authorised = kwargs.pop("authorised")
        member = people.enrol(**kwargs)
        if authorised:
            authorise(member)
        return member


def authorise(member: Membership, *, at: datetime = FOUNDED, **changes: Any) -> Authorisation:
    """An authorisation for every category with both privileges, in date around any test's now.

    Narrow it by name: ``privileges``, ``categories``, ``valid_until`` ...
    """
    wide: dict[str, Any] = {
        "licence_number": "ZZ.66.0001",
        "privileges": Privilege.values,
        "categories": AircraftCategory.values,
        "valid_from": VALID_FROM,
        "valid_until": VALID_UNTIL,
        "issued_by": "Invented Authority",
    }
    return people.authorise(member=member, by=None, at=at, **(wide | changes))


def member_of(club: Club, role: str, *, other_than: Collection[UUID | None] = ()) -> Membership:
    """The first member of the club with the role, an inspector with an authorisation; made if there is none."""
    found = (
        Membership.objects.filter(club=club, active=True, roles__contains=[role])
        .exclude(id__in=[one for one in other_than if one])
        .select_related("club", "person")
        .order_by("joined_at", "id")
        .first()
    )
    if found is not None:
        return found
    made = InspectorFactory if role == Role.INSPECTOR else MemberFactory
    return made.create(club=club, roles=[role])


def keeper_of(club: Club) -> Membership:
    """Whoever keeps types, sheets, aircraft and documents of the club."""
    return member_of(club, Role.TECHNICAL_OFFICER)
