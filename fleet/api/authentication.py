"""Who asks: a bearer token, or the session of the pages."""

from datetime import datetime
from typing import cast

from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed, PermissionDenied
from rest_framework.request import Request

from fleet.api.refusals import CsrfRefused
from fleet.errors import Forbidden
from fleet.models.access import ApiToken
from fleet.models.people import Membership, Person
from fleet.services import access

SESSION_CLUB = "club"
"""Session key of the club that a person with several memberships chose."""


class ApiRequest(Request):
    """A request with the one reading of the clock and, once signed in, the member."""

    now: datetime
    member: Membership | None = None


class BearerToken(BaseAuthentication):
    """``Authorization: Bearer <token>`` (RFC 6750)."""

    def authenticate(self, request: ApiRequest) -> tuple[Person, ApiToken] | None:  # type: ignore[override]
        """None when another scheme or no credentials were sent."""
        scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer":
            return None
        token = access.token_in_force(secret=secret.strip(), at=request.now)
        if token is None:
            raise AuthenticationFailed(
                "This token is unknown, expired or revoked. Get a new one from POST /api/v1/tokens."
            )
        request.member = token.membership
        return token.membership.person, token

    def authenticate_header(self, request: Request) -> str:
        """Value of WWW-Authenticate."""
        return 'Bearer realm="api"'


class PageSession(SessionAuthentication):
    """The session of the pages; unsafe and safe methods alike need it whole, CSRF token included."""

    def authenticate(self, request: ApiRequest) -> tuple[Person, None] | None:  # type: ignore[override]
        """None without a signed-in session; Forbidden when it is not clear for which club the person acts."""
        result = super().authenticate(request)
        if result is None:
            return None
        person = cast(Person, result[0])
        request.member = access.member_of(person, request._request.session.get(SESSION_CLUB))
        if request.member is None:
            raise Forbidden(
                "no_membership", "Choose the club that you act for, or ask your administrator for a membership."
            )
        return person, None

    def enforce_csrf(self, request: Request) -> None:
        """Raises CsrfRefused."""
        try:
            super().enforce_csrf(request)
        except PermissionDenied as refusal:
            raise CsrfRefused() from refusal
