"""Refusals that belong to HTTP itself and not to the domain. ``default_code`` names the problem type."""

from rest_framework.exceptions import APIException


class CsrfRefused(APIException):
    """A session request without a valid CSRF token."""

    status_code = 403
    default_code = "csrf_failed"
    default_detail = "Send the token of the csrftoken cookie in the X-CSRFToken header, or use a bearer token."


class InFlight(APIException):
    """The same Idempotency-Key is being worked on at this moment."""

    status_code = 409
    default_code = "in_flight"
    default_detail = (
        "A request with this Idempotency-Key is still being worked on. Send it again after Retry-After seconds."
    )
    wait = 1


class IdTaken(APIException):
    """The client's own id exists already, with other content or in a place that is not shown."""

    status_code = 409
    default_code = "id_taken"
    default_detail = "This id is already used for something else. Send the same content as before, or choose a new id."


class KeyReused(APIException):
    """An Idempotency-Key came again with another request."""

    status_code = 422
    default_code = "key_reused"
    default_detail = "This Idempotency-Key was used for another request. Choose a new key for new content."


class TooLarge(APIException):
    """The body is larger than the service reads."""

    status_code = 413
    default_code = "too_large"
    default_detail = "The body is larger than this endpoint reads. Send less."


class PreconditionRequired(APIException):
    """A change without naming the version that it is based on (RFC 6585)."""

    status_code = 428
    default_code = "precondition_required"
    default_detail = "GET the resource first and send its ETag in the If-Match header."
