"""Every error as an RFC 9457 answer: the one place where a refusal of the domain, the framework or the database gets a status."""

import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import singledispatch
from typing import Any

from django.core import exceptions as core
from django.core.signals import got_request_exception
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.views import defaults
from rest_framework import exceptions as rest

from config.database_refusals import refusal_of
from config.problem_fields import field_errors
from config.problem_types import PROBLEM_TYPES
from fleet.api.refusals import TooLarge
from fleet.api.renderers import to_json
from fleet.errors import Conflict, DomainError, FieldError, Forbidden, Invalid, Locked, NotFound, Stale
from fleet.services.access import lockout_seconds

PROBLEM_JSON = "application/problem+json"
API = "/api/"
MOST_ERRORS = 100
UNEXPECTED = "internal_error"
RETRY_AFTER_SECONDS = 1
logger = logging.getLogger(__name__)

FRAMEWORK_CODES = {
    "authentication_failed": "not_authenticated",
    "parse_error": "malformed",
    "permission_denied": "forbidden",
    "throttled": "too_many_requests",
}
"""Codes of the framework's exceptions that are not the name of the problem type already."""

WITHOUT_CURE = {"method_not_allowed", "not_acceptable", "unsupported_media_type"}
"""Of these the framework says what is wrong, but not what to do."""

DOMAIN_TYPES: dict[type[DomainError], str] = {
    Forbidden: "forbidden",
    NotFound: "not_found",
    Conflict: "conflict",
    Invalid: "invalid",
    Stale: "stale",
    Locked: "too_many_requests",
}


@dataclass(frozen=True, slots=True)
class Problem:
    """What one answer says. ``code`` is the precise reason; ``type_code`` the documented kind."""

    type_code: str
    detail: str = ""
    code: str = ""
    errors: tuple[FieldError, ...] = ()
    current: Mapping[str, object] | None = None
    headers: Mapping[str, str] = field(default_factory=dict)

    def answer(self) -> HttpResponse:
        """The HTTP answer."""
        kind = PROBLEM_TYPES[self.type_code]
        body: dict[str, object] = {
            "type": kind.uri,
            "title": kind.title,
            "status": kind.status,
            "detail": self.detail or kind.cure,
            "code": self.code or kind.code,
        }
        if self.errors:
            body["errors"] = [{"pointer": one.pointer, "code": one.code, "detail": one.detail} for one in self.errors]
        if self.current:
            body["current"] = self.current
        headers = {"Cache-Control": "no-store", **self.headers}
        return HttpResponse(to_json(body), status=kind.status, content_type=PROBLEM_JSON, headers=headers)


@singledispatch
def problem_of(error: Exception) -> Problem:
    """The problem that an exception is answered with; what nobody expected says nothing of itself."""
    return Problem(UNEXPECTED)


@problem_of.register
def _(error: DomainError) -> Problem:
    type_code = next((code for kind, code in DOMAIN_TYPES.items() if isinstance(error, kind)), "conflict")
    current = error.current if isinstance(error, Conflict) else None
    headers = {"Retry-After": str(error.wait)} if isinstance(error, Locked) else {}
    return Problem(type_code, error.detail, error.code, error.errors, current, headers)


@problem_of.register
def _(error: rest.APIException) -> Problem:
    code = FRAMEWORK_CODES.get(error.default_code, error.default_code)
    if code not in PROBLEM_TYPES:
        return problem_of.dispatch(Exception)(error)
    wait = getattr(error, "wait", None)
    headers = {"Retry-After": str(wait)} if wait else {}
    if hasattr(error, "auth_header"):
        headers["WWW-Authenticate"] = error.auth_header
    cure = f" {PROBLEM_TYPES[code].cure}" if code in WITHOUT_CURE else ""
    return Problem(code, f"{error.detail}{cure}", headers=headers)


@problem_of.register
def _(error: rest.ValidationError) -> Problem:
    return _invalid(field_errors(error.detail))


@problem_of.register
def _(error: core.ValidationError) -> Problem:
    return _invalid(field_errors(error.message_dict if hasattr(error, "error_dict") else error.messages))


@problem_of.register
def _(error: IntegrityError) -> Problem:
    logger.warning("refused by a database constraint", exc_info=error)
    type_code, detail = refusal_of(error)
    return Problem(type_code, detail)


@problem_of.register
def _(error: DataError) -> Problem:
    logger.warning("refused by the database's types", exc_info=error)
    return Problem("invalid", "A value is out of the range that can be stored. Check numbers, dates and lengths.")


@problem_of.register
def _(error: OperationalError) -> Problem:
    logger.error("the database did not answer", exc_info=error)
    return Problem("unavailable", headers={"Retry-After": str(RETRY_AFTER_SECONDS)})


@problem_of.register
def _(error: Http404) -> Problem:
    return Problem("not_found")


@problem_of.register
def _(error: core.PermissionDenied) -> Problem:
    return Problem("forbidden")


@problem_of.register
def _(error: core.SuspiciousOperation) -> Problem:
    return Problem("malformed")


@problem_of.register(core.RequestDataTooBig)
@problem_of.register(core.TooManyFieldsSent)
@problem_of.register(core.TooManyFilesSent)
def _(error: Exception) -> Problem:
    return Problem("too_large", str(TooLarge.default_detail))


def _invalid(errors: tuple[FieldError, ...]) -> Problem:
    errors = errors[:MOST_ERRORS]
    summary = "; ".join(f"{one.pointer or 'the whole'}: {one.detail}" for one in errors[:3])
    more = f" (and {len(errors) - 3} more)" if len(errors) > 3 else ""
    return Problem("invalid", f"Nothing was changed. Correct {summary}{more}", errors=errors)


# Entry points that settings and URLs name


def exception_handler(error: Exception, context: Mapping[str, Any]) -> HttpResponse:
    """REST_FRAMEWORK["EXCEPTION_HANDLER"]. What nobody expected is logged and signalled as the framework does."""
    problem = problem_of(error)
    if problem.type_code == UNEXPECTED:
        request = context["request"]._request
        logger.error("unexpected error at %s %s", request.method, request.path, exc_info=error)
        got_request_exception.send(sender=type(context["view"]), request=request)
    return problem.answer()


def lockout(request: HttpRequest, answer: HttpResponse | None = None, credentials: object = None) -> HttpResponseBase:
    """AXES_LOCKOUT_CALLABLE: 429 with Retry-After."""
    locked = Locked(lockout_seconds(request))
    if request.path.startswith(API):
        return problem_of(locked).answer()
    return HttpResponse(locked.detail, status=429, content_type="text/plain", headers={"Retry-After": str(locked.wait)})


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """handler400."""
    return problem_of(exception).answer() if request.path.startswith(API) else defaults.bad_request(request, exception)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """handler403."""
    return (
        problem_of(exception).answer()
        if request.path.startswith(API)
        else defaults.permission_denied(request, exception)
    )


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """handler404."""
    return (
        Problem("not_found").answer() if request.path.startswith(API) else defaults.page_not_found(request, exception)
    )


def server_error(request: HttpRequest) -> HttpResponseBase:
    """handler500; the framework has logged the error."""
    return Problem(UNEXPECTED).answer() if request.path.startswith(API) else defaults.server_error(request)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponseBase:
    """CSRF_FAILURE_VIEW."""
    from_api = request.path.startswith(API)
    return (
        Problem("csrf_failed").answer()
        if from_api
        else defaults.permission_denied(request, core.PermissionDenied(reason))
    )
