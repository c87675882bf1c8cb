"""Strong validators and the preconditions of RFC 9110, section 13."""

from collections.abc import Mapping
from hashlib import blake2b

from django.utils.http import parse_etags

from fleet.api.refusals import PreconditionRequired
from fleet.api.renderers import to_json
from fleet.errors import Stale


def of_bytes(body: bytes) -> str:
    """Strong entity tag of a rendered body."""
    return f'"{blake2b(body, digest_size=16).hexdigest()}"'


def of_representation(representation: Mapping[str, object]) -> str:
    """The tag that a GET of this representation carries."""
    return of_bytes(to_json(representation))


def names(header: str, etag: str) -> bool:
    """If-Match: strong comparison, so a weak tag (``W/``) never matches (RFC 9110, 13.1.1)."""
    listed = parse_etags(header)
    return listed == ["*"] or etag in listed


def already_has(header: str, etag: str) -> bool:
    """If-None-Match: weak comparison (RFC 9110, 13.1.2)."""
    listed = parse_etags(header)
    return listed == ["*"] or etag in [tag.removeprefix("W/") for tag in listed]


def check_match(header: str | None, representation: Mapping[str, object]) -> None:
    """Raises Stale (412) when If-Match was sent and does not name the representation."""
    if header is not None and not names(header, of_representation(representation)):
        raise Stale(
            "stale", "It was changed since you read it. GET it again, apply your change to that, and send its ETag."
        )


def require_match(header: str | None, representation: Mapping[str, object]) -> None:
    """As ``check_match``; without If-Match 428."""
    if header is None:
        raise PreconditionRequired()
    check_match(header, representation)
