"""Which refusals an operation can answer, as the OpenAPI document shows them."""

from fleet.api.base import ClubView

ALWAYS = {
    406: "Accept application/json.",
    422: "A field or a query parameter is missing, unknown or wrong; errors says which.",
    500: "The service failed; nothing was changed.",
    503: "The service cannot answer now; nothing was changed.",
}
SIGNED_IN = {
    401: "Nobody is signed in.",
    403: "The member's roles or authorisations do not permit it; detail says whose do.",
}
BODY = {
    400: "The body or a header cannot be read.",
    413: "The body is too large.",
    415: "The media type of the body is not read here.",
}
CHANGE = {409: "The present state does not allow it; current says what it is."}
NOT_FOUND = {404: "It is not there, or belongs to another club."}
STALE = {412: "If-Match does not name the current version."}
UNNAMED = {428: "If-Match is missing."}
PASSWORD = {401: "Name or password is wrong.", 429: "Too many failed sign-ins."}


def problem_statuses(view: ClubView, method: str, path: str) -> dict[int, str]:
    """Status -> what it means here."""
    found = dict(ALWAYS)
    if method not in view.open_methods:
        found |= SIGNED_IN
    if "{" in path or (method == "POST" and method not in view.open_methods):
        found |= NOT_FOUND
    if method != "GET":
        found |= _of_change(view, method, path)
    return dict(sorted(found.items()))


def _of_change(view: ClubView, method: str, path: str) -> dict[int, str]:
    found = {} if method == "DELETE" else dict(BODY)
    if method in view.open_methods:
        return found | {403: SIGNED_IN[403]} | PASSWORD
    if type(view).before_transaction is not ClubView.before_transaction:
        found |= {429: PASSWORD[429]}
    if method == "PATCH":
        found |= STALE | UNNAMED
    elif method == "POST" and "{" in path:
        found |= STALE
    return found | CHANGE
