"""The caller's address, as far as the proxies in front of us can be believed."""

from django.http import HttpRequest
from rest_framework.throttling import BaseThrottle


def client_ip(request: HttpRequest) -> str:
    """The address that throttles count by: X-Forwarded-For counted from the right by DJANGO_PROXY_COUNT, else the peer's."""
    return str(BaseThrottle().get_ident(request))  # type: ignore[arg-type]
