"""Errors of serializers and forms, nested as the body is, as a flat list with JSON pointers (RFC 6901)."""

from collections.abc import Iterator, Mapping, Sequence

from rest_framework.settings import api_settings

from fleet.errors import FieldError


def field_errors(detail: object) -> tuple[FieldError, ...]:
    """One entry a message, in the order of the body."""
    return tuple(_walk(detail, ""))


def _walk(detail: object, pointer: str) -> Iterator[FieldError]:
    if isinstance(detail, str):
        yield FieldError(pointer, getattr(detail, "code", "invalid"), str(detail))
    elif isinstance(detail, Mapping):
        for name, nested in detail.items():
            yield from _walk(
                nested, pointer if name == api_settings.NON_FIELD_ERRORS_KEY else f"{pointer}/{escaped(name)}"
            )
    elif isinstance(detail, Sequence):
        for place, nested in enumerate(detail):
            yield from _walk(nested, pointer if isinstance(nested, str) else f"{pointer}/{place}")


def escaped(name: object) -> str:
    """One reference token (RFC 6901, section 3)."""
    return str(name).replace("~", "~0").replace("/", "~1")
