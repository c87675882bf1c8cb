"""Query parameters of lists, as the OpenAPI document shows them."""

from typing import Any

import django_filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from fleet.api.listing import ListView
from fleet.api.pagination import KeysetPages

TYPES = (
    (django_filters.UUIDFilter, OpenApiTypes.UUID),
    (django_filters.BooleanFilter, OpenApiTypes.BOOL),
    (django_filters.NumberFilter, OpenApiTypes.NUMBER),
    (django_filters.IsoDateTimeFilter, OpenApiTypes.DATETIME),
    (django_filters.DateFilter, OpenApiTypes.DATE),
)


def list_parameters(view: ListView) -> list[OpenApiParameter]:
    """Filters, ``limit``, ``cursor``, ``ordering``."""
    repeatable = view.repeatable_parameters()
    filters = [_filter(name, one, many=name in repeatable) for name, one in view.filters().items()]
    return [*filters, *_page_parameters(view)]


def _page_parameters(view: ListView) -> list[OpenApiParameter]:
    limit = {"type": "integer", "minimum": 1, "default": KeysetPages.page_size}
    named = sorted({view.ordering.removeprefix("-"), *view.ordering_fields})
    orderings = [f"{sign}{name}" for name in named for sign in ("", "-")]
    return [
        OpenApiParameter(
            "limit", limit, description=f"Rows a page; more than {KeysetPages.max_page_size} are not given."
        ),
        OpenApiParameter("cursor", str, description="Place in the list, from next or previous of another page."),
        OpenApiParameter(
            "ordering", str, enum=orderings, default=view.ordering, description="With - in descending order."
        ),
    ]


def _filter(name: str, one: Any, *, many: bool) -> OpenApiParameter:
    description = str(one.extra.get("help_text", "")) or f"Only those with this {name}."
    choices = one.extra.get("choices")
    if choices is not None:
        listed = choices() if callable(choices) else choices
        return OpenApiParameter(name, str, enum=[value for value, _ in listed], many=many, description=description)
    found = next((kind for base, kind in TYPES if isinstance(one, base)), OpenApiTypes.STR)
    return OpenApiParameter(name, found, many=many, description=description)
