"""Bearer tokens: get one with name and password, list and revoke one's own."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.fields import Id, Text
from fleet.api.listing import ListView
from fleet.models.access import ApiToken
from fleet.models.people import Person
from fleet.services import access


class NewToken(serializers.Serializer[Any]):
    """Name and password of a person, and what the token is for."""

    username = Text(max_length=150)
    password = Text(max_length=1000, trim_whitespace=False)
    name = Text(max_length=80, help_text="What the token is for, to recognise it by.")
    club = Id(required=False, help_text="Needed from members of several clubs.")


class TokenShape(serializers.Serializer[Any]):
    """A token without its secret."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    created_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)
    last_used_at = serializers.DateTimeField(allow_null=True, help_text="To the hour.")


class IssuedToken(TokenShape):
    """A new token. Its secret is shown this once."""

    token = serializers.CharField()


def shown(token: ApiToken) -> dict[str, object]:
    """What the owner sees of a token."""
    return {str(name): getattr(token, str(name)) for name in TokenShape().fields}


class TokensView(ListView):
    """The caller's own tokens."""

    open_methods = frozenset({"POST"})
    personal = True
    bodies = {"POST": NewToken}
    answers = {"GET": TokenShape, "POST": IssuedToken}

    def get(self, request: Request) -> Response:
        """The caller's own tokens, newest first."""
        return self.page(ApiToken.objects.filter(membership=self.member), shown)

    def post(self, request: Request) -> Response:
        """A new token for name and password. The secret in the answer is not kept and cannot be shown again."""
        sent = self.validated()
        person = self._signed_in(sent["username"], sent["password"])
        member = access.membership_to_sign_in(person=person, club_id=sent.get("club"))
        token, secret = access.issue_token(by=member, name=sent["name"], at=self.now)
        answer = self.created(
            {**shown(token), "token": secret}, f"/api/v1/tokens/{token.pk}", representation=shown(token)
        )
        answer["Cache-Control"] = "no-store"
        return answer

    def _signed_in(self, username: str, password: str) -> Person:
        person = access.sign_in(request=self.request._request, username=username, password=password)
        if person is None:
            raise AuthenticationFailed("Name or password is wrong, or the account is closed. Check both and try again.")
        return person


class TokenView(ClubView):
    """One of the caller's own tokens."""

    personal = True
    answers = {"GET": TokenShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The token, without its secret."""
        return Response(shown(self.get_or_404(ApiToken.objects.filter(membership=self.member), pk)))

    def delete(self, request: Request, pk: UUID) -> Response:
        """Revokes the token. A request with it is refused from now on."""
        access.revoke_token(by=self.member, token_id=pk, at=self.now)
        return Response(status=204)
