"""Keyset pages: a cursor is the place of the last row, so page N costs what page 1 costs, and nothing is counted."""

import binascii
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, cast

import orjson
from django.core.exceptions import ValidationError as FieldInvalid
from django.db.models import F, Field, Model, QuerySet
from django.db.models.constants import LOOKUP_SEP
from django.db.models.fields.tuple_lookups import Tuple, TupleGreaterThan, TupleLessThan
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import remove_query_param, replace_query_param

from fleet.api.renderers import to_json


def refused(parameter: str, code: str, detail: str) -> ValidationError:
    """One query parameter that is not acceptable."""
    return ValidationError({parameter: [ErrorDetail(detail, code=code)]})


@dataclass(frozen=True, slots=True)
class Place:
    """After (or, going back, before) the row with these key values."""

    ordering: str
    back: bool
    values: tuple[str, str]

    def encoded(self) -> str:
        """Opaque text for a URL."""
        return urlsafe_b64encode(to_json([self.ordering, self.back, *self.values])).decode().rstrip("=")


def decoded(cursor: str, ordering: str) -> Place:
    """Raises ValidationError for anything that was not handed out for this ordering."""
    try:
        sent = orjson.loads(urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        named, back, first, second = sent
        place = Place(named, back, (first, second))
    except (binascii.Error, ValueError, TypeError):
        place = None
    if place is None or place.ordering != ordering or not all(isinstance(value, str) for value in place.values):
        raise refused("cursor", "invalid_cursor", "This cursor does not belong to this list. Start without a cursor.")
    return place


class KeysetPages(CursorPagination):
    """Pages ordered by one field and the primary key, both in the same direction, so that one index serves them."""

    page_size = 50
    max_page_size: ClassVar[int] = 200  # type: ignore[misc]
    page_size_query_param = "limit"
    cursor_query_param = "cursor"
    ordering_query_param: ClassVar[str] = "ordering"

    def paginate(
        self, rows: QuerySet[Any, Any], request: Request, ordering: str, ordering_fields: Sequence[str]
    ) -> list[Any]:
        """The rows of one page (one query). Rows are instances, or dicts that hold the ordering field and the key."""
        self.request = request
        self.chosen = _ordering(request, ordering, ordering_fields)
        self.limit = _limit(request, self.page_size, self.max_page_size)
        cursor = request.query_params.get(self.cursor_query_param)
        place = None if cursor is None else decoded(cursor, self.chosen)
        back = place is not None and place.back
        found = list(_after(rows, place, self.chosen)[: self.limit + 1])
        more = len(found) > self.limit
        page = found[: self.limit]
        if back:
            page.reverse()
        self.has_next, self.has_previous = (True, more) if back else (more, place is not None)
        self.page_rows = page
        return page

    def answer(self, results: Sequence[object]) -> Response:
        """The body and the Link header (RFC 8288)."""
        links = {"next": self._link(self.has_next, False), "previous": self._link(self.has_previous, True)}
        relations = {"next": "next", "previous": "prev"}
        header = ", ".join(f'<{url}>; rel="{relations[name]}"' for name, url in links.items() if url)
        return Response({"results": results, **links}, headers={"Link": header} if header else {})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """The body, as OpenAPI wants it."""
        link = {"type": ["string", "null"], "format": "uri"}
        properties = {"results": schema, "next": link, "previous": link}
        return {"type": "object", "required": list(properties), "properties": properties}

    def _link(self, present: bool | None, back: bool) -> str | None:
        url = self.request.build_absolute_uri()
        if not present:
            return None
        if not self.page_rows:
            return remove_query_param(url, self.cursor_query_param)
        edge = self.page_rows[0 if back else -1]
        values = (_value(edge, self.chosen.lstrip("-")), _value(edge, "pk"))
        return replace_query_param(url, self.cursor_query_param, Place(self.chosen, back, values).encoded())


def _ordering(request: Request, default: str, allowed: Sequence[str]) -> str:
    chosen = request.query_params.get(KeysetPages.ordering_query_param, default)
    if chosen != default and chosen.removeprefix("-") not in allowed:
        known = ", ".join(sorted(allowed)) or default
        raise refused(
            "ordering", "invalid_ordering", f"Order by one of: {known}; with a leading - in descending order."
        )
    return chosen


def _limit(request: Request, default: int, most: int) -> int:
    sent = request.query_params.get(KeysetPages.page_size_query_param or "limit")
    if sent is None:
        return default
    if not sent.isascii() or not sent.isdigit() or int(sent[:9]) < 1:
        raise refused("limit", "invalid_limit", f"Send a whole number from 1 to {most}.")
    return min(int(sent[:9]), most)


def _after(rows: QuerySet[Any, Any], place: Place | None, ordering: str) -> QuerySet[Any, Any]:
    name = ordering.lstrip("-")
    back = place is not None and place.back
    descending = ordering.startswith("-") != back
    sign = "-" if descending else ""
    ordered = rows.order_by(f"{sign}{name}", f"{sign}pk")
    if place is None:
        return ordered
    beyond = TupleLessThan if descending else TupleGreaterThan
    return ordered.filter(beyond(Tuple(F(name), F("pk")), _typed(rows.model, name, place.values)))


def _typed(model: type[Model], name: str, values: tuple[str, str]) -> tuple[Any, Any]:
    try:
        return _field(model, name).to_python(values[0]), model._meta.pk.to_python(values[1])
    except (FieldInvalid, ValueError, OverflowError):
        raise refused(
            "cursor", "invalid_cursor", "This cursor does not belong to this list. Start without it."
        ) from None


def _field(model: type[Model], name: str) -> "Field[Any, Any]":
    *relations, last = name.split(LOOKUP_SEP)
    for relation in relations:
        model = cast(type[Model], model._meta.get_field(relation).related_model)
    return cast("Field[Any, Any]", model._meta.get_field(last))


def _value(row: object, name: str) -> str:
    if isinstance(row, Mapping):
        value = row["id"] if name == "pk" and "pk" not in row else row[name]
    else:
        value = row
        for part in name.split(LOOKUP_SEP):
            value = getattr(value, part)
    return value.isoformat() if hasattr(value, "isoformat") else str(value)
