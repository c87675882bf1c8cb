"""The base of every endpoint of the API.

A view says who may write (``permits``), what is read (``bodies``) and what is answered (``answers``); everything that HTTP
asks for (sign-in, roles, one transaction, idempotency, entity tags, problem answers) happens here.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import NotAuthenticated
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer, Serializer
from rest_framework.views import APIView

from fleet.api import etags
from fleet.api.authentication import ApiRequest
from fleet.api.idempotency import once
from fleet.api.parameters import refuse_unknown_parameters
from fleet.api.renderers import frozen
from fleet.api.strictness import refuse_unknown_fields
from fleet.api.transactions import in_transaction
from fleet.errors import FieldError, Forbidden, NotFound
from fleet.models.people import Club, Membership, Role

MEMBERS = frozenset(Role.values) - {Role.AUDITOR.value}
"""Every role that may write at all; for acts that any member may do."""

Row = TypeVar("Row", bound=Model)
Shape = type[BaseSerializer[Any]] | BaseSerializer[Any]


class ClubView(APIView):
    """An endpoint for members of a club. Unsafe methods run in one transaction that is undone when the answer is >= 400."""

    permits: ClassVar[Mapping[str, frozenset[str]]] = {}
    """Method -> roles. Not named: safe methods for every active member, unsafe ones for nobody."""
    open_methods: ClassVar[frozenset[str]] = frozenset()
    """Methods for which nobody needs to sign in. They run without a transaction and without idempotency."""
    personal: ClassVar[bool] = False
    """Concerns only the caller's own account: every member may write, an auditor too."""
    query_parameters: ClassVar[frozenset[str]] = frozenset()
    """Names of known query parameters; any other is refused."""
    bodies: ClassVar[Mapping[str, type[Serializer[Any]]]] = {}
    """Method -> serializer of what is sent (for ``validated`` and the OpenAPI document)."""
    answers: ClassVar[Mapping[str, Shape]] = {}
    """Method -> serializer of what is answered (for the OpenAPI document)."""
    http_method_names = ["get", "head", "post", "patch", "delete"]
    request: ApiRequest

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """As the framework's own, with the handler run through ``_perform``."""
        self.args, self.kwargs = args, kwargs
        self.request = self.initialize_request(request, *args, **kwargs)
        self.headers = self.default_response_headers
        try:
            self.initial(self.request, *args, **kwargs)
            response = self._perform()
        except Exception as error:
            response = self.handle_exception(error)
        self.response = self.finalize_response(self.request, response, *args, **kwargs)
        return self.response

    def initialize_request(self, request: HttpRequest, *args: Any, **kwargs: Any) -> ApiRequest:
        """Reads the clock, once."""
        plain = super().initialize_request(request, *args, **kwargs)
        made = ApiRequest(
            request,
            parsers=plain.parsers,
            authenticators=plain.authenticators,
            negotiator=plain.negotiator,
            parser_context=plain.parser_context,
        )
        made.now = timezone.now()
        return made

    def get_authenticators(self) -> list[BaseAuthentication]:
        """None for an open method: credentials sent with it are not even looked at."""
        return [] if self.request and self.request.method in self.open_methods else super().get_authenticators()

    def check_permissions(self, request: Request) -> None:
        """401 before 403; a method that does not exist here is left to 405."""
        method = request.method or ""
        if method in self.open_methods or not hasattr(self, method.lower()):
            return
        if self.request.member is None:
            raise NotAuthenticated("Sign in, or send Authorization: Bearer with a token from POST /api/v1/tokens.")
        self._check_roles(method, self.request.member)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Sign-in and roles first, then the query string."""
        super().initial(request, *args, **kwargs)
        refuse_unknown_parameters(request, self.known_parameters(), self.repeatable_parameters())

    def known_parameters(self) -> frozenset[str]:
        """Names of the query parameters that this method reads."""
        return self.query_parameters if self.request.method in SAFE_METHODS else frozenset()

    def repeatable_parameters(self) -> frozenset[str]:
        """Those of them that may come several times."""
        return frozenset()

    def before_transaction(self) -> None:
        """For what must stay recorded even if the act is refused, a failed password above all. Runs after the role check."""

    def finalize_response(
        self, request: Request, response: HttpResponseBase, *args: Any, **kwargs: Any
    ) -> HttpResponseBase:
        """Renders once, tags what a GET or PATCH answers, and answers 304 where the client has it already."""
        response = super().finalize_response(request, response, *args, **kwargs)
        if isinstance(response, Response):
            response = frozen(response)
        response.setdefault("Cache-Control", "private, no-cache")
        if isinstance(response, HttpResponse) and response.status_code == 200 and request.method in {"GET", "HEAD", "PATCH"}:
            return self._conditional(response)
        return response

    # What views use

    @property
    def member(self) -> Membership:
        """Who asks."""
        assert self.request.member is not None
        return self.request.member

    @property
    def club(self) -> Club:
        """The club of who asks; scope every query by it."""
        return self.member.club

    @property
    def now(self) -> datetime:
        """The one reading of the clock of this request."""
        return self.request.now

    def validated(self, serializer_class: type[Serializer[Any]] | None = None, **context: object) -> dict[str, Any]:
        """The checked body; by default with the serializer of ``bodies``. PATCH reads what is sent, POST wants all of it.

        The serializer's context holds ``now``, ``member`` and what is given. Unknown fields are refused.
        """
        method = self.request.method or ""
        serializer = (serializer_class or self.bodies[method])(
            data=self.request.data,
            partial=method == "PATCH",
            context={"now": self.now, "member": self.member, **context},
        )
        refuse_unknown_fields(serializer)
        serializer.is_valid(raise_exception=True)
        checked: dict[str, Any] = serializer.validated_data
        return checked

    def get_or_404(self, rows: QuerySet[Row], pk: UUID | str, *, pointer: str | None = None) -> Row:
        """The row of a queryset that is already scoped to the club; ``pointer`` says which field of the body named it."""
        try:
            return rows.get(pk=pk)
        except (rows.model.DoesNotExist, ValidationError, ValueError):
            what = rows.model._meta.verbose_name
            detail = f"Your club has no {what} with this id. Check the id."
            errors = () if pointer is None else (FieldError(pointer, "not_found", detail),)
            raise NotFound("not_found", detail, errors) from None

    def require_match(self, current: Mapping[str, object]) -> None:
        """For PATCH, under the row lock: 428 without If-Match, 412 when it does not name the current representation."""
        etags.require_match(self.request.headers.get("If-Match"), current)

    def check_match(self, current: Mapping[str, object]) -> None:
        """For acts, under the row lock: 412 when If-Match was sent and is not current."""
        etags.check_match(self.request.headers.get("If-Match"), current)

    def created(
        self, body: Mapping[str, object], location: str, *, representation: Mapping[str, object] | None = None
    ) -> Response:
        """201 with Location and ETag. ``representation``: what a GET of the location answers, if that is not the body."""
        tag = etags.of_representation(body if representation is None else representation)
        return Response(body, status=201, headers={"Location": location, "ETag": tag})

    # Inner workings

    def _perform(self) -> HttpResponseBase:
        method = self.request.method or ""
        known = method.lower() in self.http_method_names
        handler = getattr(self, method.lower(), self.http_method_not_allowed) if known else self.http_method_not_allowed
        if method in SAFE_METHODS or method in self.open_methods or handler == self.http_method_not_allowed:
            response: HttpResponseBase = handler(self.request, *self.args, **self.kwargs)
            return response
        self.before_transaction()
        return in_transaction(
            lambda: once(self.request, self.member, lambda: handler(self.request, *self.args, **self.kwargs))
        )

    def _check_roles(self, method: str, member: Membership) -> None:
        if self.personal:
            return
        permitted = self.permits.get(method)
        if method in SAFE_METHODS:
            allowed = permitted is None or member.holds(*permitted)
        else:
            allowed = bool(permitted) and member.holds(*(permitted - {Role.AUDITOR.value}))
        if not allowed:
            raise Forbidden("role_required", _who_may(permitted or frozenset(), method))

    def _conditional(self, response: HttpResponse) -> HttpResponse:
        tag = response.setdefault("ETag", etags.of_bytes(response.content)) or response["ETag"]
        wanted = self.request.headers.get("If-None-Match")
        if self.request.method == "PATCH" or wanted is None or not etags.already_has(wanted, tag):
            return response
        kept = {name: response[name] for name in ("ETag", "Cache-Control", "Vary") if name in response}
        return HttpResponse(status=304, headers=kept)


def _who_may(roles: Iterable[str], method: str) -> str:
    names = ", ".join(Role(role).label for role in Role.values if role in roles)
    if not names:
        return "Nobody may do this through the API."
    return f"This needs one of the roles: {names}. Ask a member who holds one, or your club administrator."
