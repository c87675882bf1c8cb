"""JSON out, by orjson. Equal input gives equal bytes, so that a strong ETag can be taken from them."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import orjson
from django.http import HttpResponse
from django.utils.functional import Promise
from rest_framework.renderers import BaseRenderer
from rest_framework.response import Response

JSON = "application/json"


def _plain(value: object) -> object:
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, Promise):
        return str(value)
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, frozenset | set):
        return sorted(value)
    raise TypeError(f"{type(value).__name__} has no JSON form")


def to_json(data: object) -> bytes:
    """UTF-8 JSON; instants in UTC end in ``Z``, decimals become numbers."""
    return orjson.dumps(data, default=_plain, option=orjson.OPT_UTC_Z)


def canonical(data: object) -> bytes:
    """As ``to_json`` with sorted keys: the same content gives the same bytes whatever its order."""
    return orjson.dumps(data, default=_plain, option=orjson.OPT_UTC_Z | orjson.OPT_SORT_KEYS)


def frozen(response: Response) -> HttpResponse:
    """The response with its body rendered once and for all."""
    body = b"" if response.data is None else to_json(response.data)
    answer = HttpResponse(body, status=response.status_code, content_type=JSON)
    for name, value in response.items():
        if name != "Content-Type":  # of an answer that is not rendered yet, the framework's default
            answer[name] = value
    if not body:
        del answer["Content-Type"]
    return answer


class JsonAnswer(BaseRenderer):
    """The only renderer of the API's own answers."""

    media_type = JSON
    format = "json"
    charset = None

    def render(
        self, data: Any, accepted_media_type: str | None = None, renderer_context: Mapping[str, Any] | None = None
    ) -> bytes:
        """Bytes of the body; nothing for None."""
        return b"" if data is None else to_json(data)


class StoredFile(JsonAnswer):
    """Lets a view that answers a stored file be asked for with any Accept header."""

    media_type = "*/*"
    format = "file"
