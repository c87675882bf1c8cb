"""Every kind of refusal that the API answers, with its stable code. Codes are part of the API: add, never rename."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProblemType:
    """One ``type`` of RFC 9457: ``meaning`` says when it comes, ``cure`` what to do."""

    code: str
    status: int
    title: str
    meaning: str
    cure: str

    @property
    def uri(self) -> str:
        """Relative reference (RFC 9457, 3.1.1), which answers this description."""
        return f"/api/v1/problems/{self.code}"


_ALL = (
    ProblemType(
        "malformed",
        400,
        "The request cannot be read",
        "The body is no JSON object, or a header has not the form that it must have.",
        "Send one JSON object in UTF-8 with Content-Type application/json.",
    ),
    ProblemType(
        "not_authenticated",
        401,
        "Nobody is signed in",
        "Credentials are missing, wrong, expired or revoked, or the account is closed.",
        "Get a token from POST /api/v1/tokens and send it as Authorization: Bearer.",
    ),
    ProblemType(
        "forbidden",
        403,
        "This person may not do this",
        "The act needs a role, an authorisation or an independence that the member does not have.",
        "Ask somebody who has it; detail says who may.",
    ),
    ProblemType(
        "csrf_failed",
        403,
        "The CSRF token is missing or wrong",
        "A request with the session of the pages must prove that it comes from them.",
        "Send the token in the X-CSRFToken header, or use a bearer token instead of the session.",
    ),
    ProblemType(
        "not_found",
        404,
        "It is not there",
        "Nothing has this address or id, or it belongs to another club.",
        "Check the address and the id.",
    ),
    ProblemType(
        "method_not_allowed",
        405,
        "The method is not allowed here",
        "The address exists, but not for this method.",
        "Use one of the methods of the Allow header.",
    ),
    ProblemType(
        "not_acceptable",
        406,
        "The wanted media type is not available",
        "The Accept header names only media types that are not offered.",
        "Accept application/json.",
    ),
    ProblemType(
        "conflict",
        409,
        "The present state does not allow it",
        "What is recorded already excludes it; current tells the present state where there is one.",
        "Read the present state, then decide anew.",
    ),
    ProblemType(
        "in_flight",
        409,
        "The same request is being worked on",
        "A request with this Idempotency-Key has not been answered yet.",
        "Send the same request again after Retry-After seconds.",
    ),
    ProblemType(
        "id_taken",
        409,
        "The id is taken",
        "The id that was sent is already used for other content.",
        "Send the same content as before, or choose a new id.",
    ),
    ProblemType(
        "stale",
        412,
        "It was changed since it was read",
        "If-Match names another version than the current one.",
        "GET it again, apply the change to that, and send its ETag.",
    ),
    ProblemType(
        "too_large",
        413,
        "The body is too large",
        "The body, a file or the number of fields exceeds what is read.",
        "Send less, or a smaller file.",
    ),
    ProblemType(
        "unsupported_media_type",
        415,
        "The media type of the body is not read here",
        "Content-Type names something that this address does not read.",
        "Send application/json (files: multipart/form-data).",
    ),
    ProblemType(
        "invalid",
        422,
        "The content is not acceptable",
        "The request is well-formed, but a field or a query parameter is missing, unknown or wrong.",
        "Correct what errors names; each pointer leads into the body (or names a query parameter).",
    ),
    ProblemType(
        "key_reused",
        422,
        "The Idempotency-Key was used for another request",
        "One key stands for one request; this key came with other content before.",
        "Choose a new key for new content.",
    ),
    ProblemType(
        "precondition_required",
        428,
        "The version must be named",
        "A change must say which version it is based on (RFC 6585).",
        "GET the resource and send its ETag in the If-Match header.",
    ),
    ProblemType(
        "too_many_requests",
        429,
        "Too many attempts",
        "After repeated failed sign-ins an account is closed to this address for a while.",
        "Wait for Retry-After seconds.",
    ),
    ProblemType(
        "internal_error",
        500,
        "The service failed",
        "Something unexpected happened; it was logged and nothing was changed.",
        "Try again; if it happens again, tell whoever runs the service when it was.",
    ),
    ProblemType(
        "unavailable",
        503,
        "The service cannot answer now",
        "The database is busy or away. Nothing was changed.",
        "Send the same request again after Retry-After seconds, with the same Idempotency-Key.",
    ),
)

PROBLEM_TYPES = {problem_type.code: problem_type for problem_type in _ALL}
