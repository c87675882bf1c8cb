"""Signing in: bearer tokens, the member behind a session, and the password asked again before a signature."""

import hashlib
import secrets
import uuid
from datetime import datetime, timedelta

from axes.helpers import get_cool_off
from django.contrib.auth import authenticate
from django.contrib.auth.signals import user_logged_in
from django.http import HttpRequest

from fleet import tokens
from fleet.errors import Forbidden, Locked, NotFound, invalid
from fleet.models.access import ApiToken, IdempotencyRecord
from fleet.models.people import Membership, Person

TOKEN_BYTES = 32
TOKEN_LIFE = timedelta(days=90)
USE_NOTED_EVERY = timedelta(hours=1)
KEYS_KEPT = timedelta(days=30)


def digest_of(secret: str) -> str:
    """SHA-256, hexadecimal. A token has 256 random bits, so it needs neither salt nor a slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()


def sign_in(*, request: HttpRequest, username: str, password: str) -> Person | None:
    """The person; None alike for an unknown name, a wrong password and a closed account. Raises Locked.

    Call it outside a transaction that may roll back: a failed attempt must stay counted.
    """
    person = authenticate(request=request, username=username, password=password)
    if getattr(request, "axes_locked_out", False):
        raise Locked(lockout_seconds(request))
    if not isinstance(person, Person):
        return None
    user_logged_in.send(sender=Person, request=request, user=person)  # forgets the failed attempts
    return person


def reauthenticate(request: HttpRequest, member: Membership, password: str) -> bool:
    """Whether the password is the member's. Counts failures as a sign-in does, so the same holds: outside a transaction."""
    person = sign_in(request=request, username=member.person.get_username(), password=password)
    return person is not None and person.pk == member.person_id


def lockout_seconds(request: HttpRequest) -> int:
    """How long a lockout lasts from the last failed attempt."""
    return int((get_cool_off(request) or timedelta(hours=1)).total_seconds())


def active_memberships(person: Person) -> list[Membership]:
    """The clubs in which a person is a member now."""
    found = Membership.objects.select_related("club").filter(person=person, active=True).order_by("club__name")
    return [_with_person(membership, person) for membership in found]


def member_of(person: Person, club_id: str | None) -> Membership | None:
    """The membership in the named club, or the only one; None when there is none or it is not clear which."""
    memberships = active_memberships(person)
    if club_id is not None:
        memberships = [membership for membership in memberships if str(membership.club_id) == club_id]
    return memberships[0] if len(memberships) == 1 else None


def membership_to_sign_in(*, person: Person, club_id: uuid.UUID | None) -> Membership:
    """The membership that a token is for. Raises Forbidden without any, Invalid when the club must be named."""
    memberships = active_memberships(person)
    if not memberships:
        raise Forbidden("no_membership", "You are not an active member of a club. Ask your club administrator.")
    if club_id is not None:
        memberships = [membership for membership in memberships if membership.club_id == club_id]
    if len(memberships) == 1:
        return memberships[0]
    names = "; ".join(f"{membership.club.name}: {membership.club_id}" for membership in active_memberships(person))
    raise invalid("/club", "club_required", f"Send the id of one of your clubs as club ({names}).")


def issue_token(*, by: Membership, name: str, at: datetime) -> tuple[ApiToken, str]:
    """A new token of the member and its secret, which is shown once and not kept."""
    secret = secrets.token_urlsafe(TOKEN_BYTES)
    token = ApiToken.objects.create(
        membership=by, name=name, digest=digest_of(secret), created_at=at, expires_at=at + TOKEN_LIFE
    )
    return token, secret


def revoke_token(*, by: Membership, token_id: uuid.UUID, at: datetime) -> None:
    """Ends one of the member's own tokens; one that has ended stays as it is."""
    token = ApiToken.objects.select_for_update().filter(membership=by, pk=token_id).first()
    if token is None:
        raise NotFound("not_found", "You have no token with this id.")
    if token.revoked_at is None:
        token.revoked_at = at
        token.save(update_fields=["revoked_at"])


def token_in_force(*, secret: str, at: datetime) -> ApiToken | None:
    """The token with its membership, person and club: one query, and at most once an hour one update."""
    token = tokens.in_force(digest_of(secret), at)
    if token is not None and (token.last_used_at is None or at - token.last_used_at >= USE_NOTED_EVERY):
        ApiToken.objects.filter(pk=token.pk).update(last_used_at=at)
    return token


def forget_old_keys(now: datetime) -> int:
    """Deletes answers kept under an Idempotency-Key for 30 days; those under a client's own id stay."""
    expired = IdempotencyRecord.objects.filter(membership__isnull=False, created_at__lt=now - KEYS_KEPT)
    return expired.delete()[0]


def _with_person(membership: Membership, person: Person) -> Membership:
    membership.person = person
    return membership
