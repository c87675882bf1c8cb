"""The caller's address, as far as the proxies in front of us can be believed."""

from ipaddress import ip_address

from django.http import HttpRequest
from rest_framework.throttling import BaseThrottle

# No interface to listen on: callers without an address, over a Unix socket say, are counted together.
UNKNOWN = "0.0.0.0"  # noqa: S104  # nosec B104


def client_ip(request: HttpRequest) -> str:
    """The address that throttles count by: X-Forwarded-For counted from the right by DJANGO_PROXY_COUNT, else the peer's."""
    found = str(BaseThrottle().get_ident(request))  # type: ignore[arg-type]
    try:
        return str(ip_address(found))
    except ValueError:
        return UNKNOWN
