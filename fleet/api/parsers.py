"""Bodies in: strict JSON (RFC 8259) of limited size, and multipart for files."""

from collections.abc import Iterable, Iterator, Mapping
from typing import IO, Any

import orjson
from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import ErrorDetail, ParseError, ValidationError
from rest_framework.parsers import BaseParser, DataAndFiles, MultiPartParser

from fleet.api.refusals import TooLarge

NUL = "\0"
DEEPEST = 32
"""Levels of nesting; no body of this API needs ten, and what walks a body may recurse."""


class JsonObject(BaseParser):
    """A JSON object. NaN and infinities are no JSON; of a name that comes twice the last counts."""

    media_type = "application/json"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> dict[str, Any]:
        """Raises TooLarge, ParseError, or ValidationError for NUL characters, which no database text can hold."""
        raw = _read(stream, parser_context or {}, settings.DATA_UPLOAD_MAX_MEMORY_SIZE)
        try:
            body = orjson.loads(raw)
        except orjson.JSONDecodeError as error:
            raise ParseError(f"The body is not JSON: {error}. Send a JSON object in UTF-8.") from error
        if not isinstance(body, dict):
            raise ParseError("The body must be a JSON object, { ... }.")
        _refuse_deep(body)
        if b"\\u0000" in raw:
            _refuse_nul(body)
        return body


class Multipart(MultiPartParser):
    """Form fields and files. The view's ``max_upload_bytes`` limits the whole body."""

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> "DataAndFiles[Any, Any]":
        """Raises TooLarge, ParseError, ValidationError."""
        context = parser_context or {}
        _refuse_large(context, getattr(context.get("view"), "max_upload_bytes", settings.DATA_UPLOAD_MAX_MEMORY_SIZE))
        try:
            parsed = super().parse(stream, media_type, parser_context)
        except RequestDataTooBig as error:
            raise TooLarge() from error
        _refuse_nul(dict(parsed.data.lists()))
        return parsed


def _read(stream: IO[Any], context: Mapping[str, Any], limit: int) -> bytes:
    _refuse_large(context, limit)
    raw: bytes = stream.read(limit + 1)
    if len(raw) > limit:
        raise TooLarge()
    return raw


def _refuse_large(context: Mapping[str, Any], limit: int) -> None:
    request = context.get("request")
    announced = request.META.get("CONTENT_LENGTH") if request is not None else None
    if announced and announced.isdigit() and int(announced) > limit:
        raise TooLarge(f"The body has {announced} bytes; this endpoint reads at most {limit}. Send less.")


def _refuse_deep(body: dict[str, Any]) -> None:
    level: list[object] = [body]
    for _ in range(DEEPEST):
        level = [one for container in level for _, one in _members(container) if isinstance(one, dict | list)]
        if not level:
            return
    raise ValidationError([ErrorDetail(f"The body is nested deeper than {DEEPEST} levels.", code="too_deep")])


def _refuse_nul(body: dict[str, Any]) -> None:
    found = list(_places_of_nul(body, ()))
    if found:
        raise ValidationError(_nested(found))


def _places_of_nul(value: object, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if isinstance(value, str) and NUL in value:
        yield path
    for name, one in _members(value):
        if NUL in name:
            yield (*path, name.replace(NUL, "\ufffd"))
        yield from _places_of_nul(one, (*path, name))


def _members(value: object) -> Iterable[tuple[str, object]]:
    if isinstance(value, dict):
        return value.items()
    return ((str(place), one) for place, one in enumerate(value)) if isinstance(value, list) else ()


def _nested(places: list[tuple[str, ...]]) -> dict[str, Any]:
    errors: dict[str, Any] = {}
    for *parents, last in places:
        level = errors
        for parent in parents:
            level = level.setdefault(parent, {})
        level[last] = [ErrorDetail("NUL characters (U+0000) cannot be stored. Remove them.", code="null_character")]
    return errors
