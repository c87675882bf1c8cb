"""Who may do what in the register, and what an authorisation covers. Refusals carry a reason and what to do."""

from collections.abc import Iterable
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Q

from fleet.errors import Forbidden
from fleet.models import Aircraft, Authorisation, Club, Membership, Privilege, Role

KEEPERS = frozenset({Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR})  # keep types, aircraft, documents
ADMINISTRATORS = frozenset({Role.ADMINISTRATOR})
WALKERS = frozenset({Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR})  # walk round, rig
MEMBERS_WHO_WRITE = frozenset({Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR, Role.ADMINISTRATOR})
INSPECTORS = frozenset({Role.INSPECTOR})
EVERYBODY = frozenset(Role)


def role_titles(roles: Iterable[str]) -> str:
    """The roles in words, in the order of their table."""
    wanted = set(roles)
    return ", ".join(role.label for role in Role if role in wanted)


def why_not_role(member: Membership, roles: Iterable[str], what: str) -> Forbidden | None:
    """Whether a member holds one of the roles; ``what`` completes "... may"."""
    if member.active and member.holds(*roles):
        return None
    return Forbidden("role", f"Only these roles may {what}: {role_titles(roles)}. Ask one of them.")


def require_role(member: Membership, roles: Iterable[str], what: str) -> None:
    """Raise the refusal, if any."""
    refusal = why_not_role(member, roles, what)
    if refusal:
        raise refusal


def today_in(club: Club, at: datetime) -> date:
    """The civil date in the club's zone."""
    return at.astimezone(ZoneInfo(club.time_zone)).date()


def authorisation_for(
    member: Membership, aircraft: Aircraft, privilege: Privilege, at: datetime
) -> Authorisation | None:
    """The member's authorisation that covers the aircraft and is in date, the one that runs longest."""
    today = today_in(aircraft.club, at)
    return (
        Authorisation.objects.filter(
            membership=member,
            revoked_at=None,
            privileges__contains=[privilege.value],
            categories__contains=[aircraft.aircraft_type.category],
            valid_from__lte=today,
            valid_until__gte=today,
        )
        .filter(Q(aircraft_types=None) | Q(aircraft_types=aircraft.aircraft_type))
        .order_by("-valid_until", "id")
        .first()
    )


def require_authorisation(member: Membership, aircraft: Aircraft, privilege: Privilege, at: datetime) -> Authorisation:
    """The authorisation, or the refusal that says what is wanting."""
    found = authorisation_for(member, aircraft, privilege, at)
    if found is None:
        raise Forbidden(
            "authorisation",
            f"No authorisation of yours for {privilege.label.lower()} covers {aircraft.aircraft_type.designation} and is in date."
            " Ask an inspector whose authorisation does, or the club administrator to record yours.",
        )
    return found
