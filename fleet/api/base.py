"""The base of every endpoint of the API.

A view says who may write (``permits``), what is read (``bodies``) and what is answered (``answers``); everything that HTTP
asks for (sign-in, roles, one transaction, idempotency, entity tags, problem answers) happens here.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import NotAuthenticated, ParseError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer, Serializer
from rest_framework.views import APIView

from fleet.api import etags
from fleet.api.authentication import ApiRequest, BearerToken
from fleet.api.idempotency import once
from fleet.api.parameters import refuse_unknown_parameters
from fleet.api.renderers import frozen
from fleet.api.strictness import refuse_unknown_fields
from fleet.api.transactions import in_transaction
from fleet.errors import FieldError, Forbidden, NotFound
from fleet.models.people import Club, Membership, Role
from fleet.permissions import role_titles

NOT_SIGNED_IN = "Sign in, or send Authorization: Bearer with a token from POST /api/v1/tokens."

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
    query: ClassVar[type[Serializer[Any]] | None] = None
    """Serializer of the query parameters of GET; any other parameter is refused."""
    bodies: ClassVar[Mapping[str, type[Serializer[Any]]]] = {}
    """Method -> serializer of what is sent (for ``validated`` and the OpenAPI document)."""
    answers: ClassVar[Mapping[str, Shape]] = {}
    """Method -> serializer of what is answered (for the OpenAPI document)."""
    success_of_post: ClassVar[int] = 201
    """Status of a POST that is accepted (for the OpenAPI document)."""
    http_method_names = ["get", "head", "post", "patch", "delete"]
    request: ApiRequest

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """As the framework's own, with the handler run through ``_perform`` and its answer through ``_finished``."""
        self.args, self.kwargs = args, kwargs
        self.request = self.initialize_request(request, *args, **kwargs)
        self.headers = self.default_response_headers
        response: Any
        try:
            self.initial(self.request, *args, **kwargs)
            response = self._perform()
        except Exception as error:  # noqa: BLE001 - each has its answer, and what nobody expected is logged there
            response = self.handle_exception(error)
        return self._finished(self.finalize_response(self.request, response, *args, **kwargs))

    def initialize_request(self, request: HttpRequest, *args: Any, **kwargs: Any) -> ApiRequest:
        """Reads the clock, once."""
        made = ApiRequest(
            request,
            parsers=self.get_parsers(),
            authenticators=self.get_authenticators(),
            negotiator=self.get_content_negotiator(),
            parser_context=self.get_parser_context(request),
        )
        made.now = timezone.now()
        return made

    def get_authenticators(self) -> list[BaseAuthentication]:
        """None for an open method: credentials sent with it are not even looked at."""
        return [] if self.request and self.request.method in self.open_methods else super().get_authenticators()

    def get_authenticate_header(self, request: Request) -> str:
        """A refused sign-in is a 401 even where credentials are not looked at."""
        return BearerToken().authenticate_header(request)

    def check_permissions(self, request: Request) -> None:
        """401 before 403; a method that does not exist here is left to 405."""
        method = request.method or ""
        if method in self.open_methods or self._handler() == self.http_method_not_allowed:
            return
        if self.request.member is None:
            raise NotAuthenticated(NOT_SIGNED_IN)
        self._check_roles(method, self.request.member)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Sign-in and roles first, then the query string and the framing of the body."""
        super().initial(request, *args, **kwargs)
        if "Transfer-Encoding" in request.headers and "Content-Length" not in request.headers:
            raise ParseError("A body is read by its Content-Length only. Send that instead of Transfer-Encoding.")
        if self._handler() == self.http_method_not_allowed:
            return  # 405 says all there is to say
        refuse_unknown_parameters(request, self.known_parameters(), self.repeatable_parameters())

    def known_parameters(self) -> frozenset[str]:
        """Names of the query parameters that this method reads."""
        return frozenset(self.query().fields) if self.query and self.request.method in SAFE_METHODS else frozenset()

    def repeatable_parameters(self) -> frozenset[str]:
        """Those of them that may come several times."""
        return frozenset()

    def before_transaction(self) -> None:
        """For what must stay recorded even if the act is refused, a failed password above all. Runs after the role check."""

    # What views use

    @property
    def member(self) -> Membership:
        """Who asks."""
        if self.request.member is None:
            raise NotAuthenticated(NOT_SIGNED_IN)
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
            context={"now": self.now, "member": self.request.member, **context},
        )
        refuse_unknown_fields(serializer)
        serializer.is_valid(raise_exception=True)
        checked: dict[str, Any] = serializer.validated_data
        return checked

    def validated_query(self) -> dict[str, Any]:
        """The checked query parameters, by the serializer ``query``."""
        serializer = (self.query or Serializer)(
            data=self.request.query_params.dict(), context={"now": self.now, "member": self.request.member}
        )
        serializer.is_valid(raise_exception=True)
        checked: dict[str, Any] = serializer.validated_data
        return checked

    def get_or_404(self, rows: QuerySet[Row], pk: UUID | str, *, pointer: str | None = None) -> Row:
        """The row of a queryset that is already scoped to the club; ``pointer`` says which field of the body named it."""
        try:
            return rows.get(pk=pk)
        except (ObjectDoesNotExist, ValidationError, ValueError):
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

    def _handler(self) -> Callable[..., HttpResponseBase]:
        name = (self.request.method or "").lower()
        found = getattr(self, name, None) if name in self.http_method_names else None
        return found or self.http_method_not_allowed

    def _perform(self) -> HttpResponseBase:
        method, handler = self.request.method or "", self._handler()
        act = partial(handler, self.request, *self.args, **self.kwargs)
        if method in SAFE_METHODS or method in self.open_methods or handler == self.http_method_not_allowed:
            return act()
        self.before_transaction()
        return in_transaction(lambda: once(self.request, self.member, act))

    def _finished(self, response: HttpResponseBase) -> HttpResponseBase:
        """Rendered once; what a GET or PATCH answers has an ETag; 304 where the client has it already."""
        if isinstance(response, Response):
            response = frozen(response)
        response.setdefault("Cache-Control", "private, no-cache")
        tagged = self.request.method in {"GET", "HEAD", "PATCH"} and response.status_code == 200
        return self._conditional(response) if tagged and isinstance(response, HttpResponse) else response

    def _check_roles(self, method: str, member: Membership) -> None:
        permitted = self.permits.get(method)
        if self.personal or (permitted is None and method in SAFE_METHODS):
            return
        allowed = permitted or frozenset()
        if method not in SAFE_METHODS:
            allowed = allowed - {Role.AUDITOR}
        if not member.holds(*allowed):
            raise Forbidden("role_required", _who_may(allowed))

    def _conditional(self, response: HttpResponse) -> HttpResponse:
        response.setdefault("ETag", etags.of_bytes(response.content))
        wanted = self.request.headers.get("If-None-Match")
        if self.request.method == "PATCH" or wanted is None or not etags.already_has(wanted, response["ETag"]):
            return response
        kept = {name: response[name] for name in ("ETag", "Cache-Control", "Vary") if name in response}
        return HttpResponse(status=304, headers=kept)


def _who_may(roles: frozenset[str]) -> str:
    if not roles:
        return "Nobody may do this through the API."
    return f"This needs one of the roles: {role_titles(roles)}. Ask a member who holds one, or your administrator."
