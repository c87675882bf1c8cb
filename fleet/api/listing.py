"""Lists: filtered by field name, ordered, in keyset pages."""

from collections.abc import Callable, Iterable
from typing import Any, ClassVar

from django.core.exceptions import ValidationError as FormInvalid
from django.db.models import QuerySet
from django_filters import BooleanFilter, FilterSet, MultipleChoiceFilter
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.pagination import KeysetPages, refused

EMPTY: tuple[object, ...] = (None, "", [])
"""A filter that reads its value as one of these would not filter at all."""
FLAGS = (None, "true", "false")
PAGE_PARAMETERS = frozenset({"limit", "cursor", "ordering"})


class ListView(ClubView):
    """A ``ClubView`` whose GET answers a page of ``{"results", "next", "previous"}``."""

    filterset_class: ClassVar[type[FilterSet] | None] = None
    ordering: ClassVar[str] = "-created_at"
    """Field that the rows come in by default; must never be NULL, and its index should end in the primary key."""
    ordering_fields: ClassVar[tuple[str, ...]] = ()
    """Further fields that ``?ordering=`` may name; never NULL."""

    def known_parameters(self) -> frozenset[str]:
        """Filters and page parameters."""
        if self.request.method not in SAFE_METHODS:
            return frozenset()
        return super().known_parameters() | PAGE_PARAMETERS | frozenset(self.filters())

    def repeatable_parameters(self) -> frozenset[str]:
        """Filters that take several values."""
        return frozenset(name for name, one in self.filters().items() if isinstance(one, MultipleChoiceFilter))

    @classmethod
    def filters(cls) -> dict[str, Any]:
        """Parameter name -> filter."""
        return dict(cls.filterset_class.base_filters) if cls.filterset_class else {}

    def page(self, rows: QuerySet[Any, Any], represent: Callable[[Any], object]) -> Response:
        """One page of the rows (scoped to the club) that pass the filters; one query."""
        pages = KeysetPages()
        named = (self.ordering.removeprefix("-"), *self.ordering_fields)
        found = pages.paginate(self.filtered(rows), self.request, self.ordering, named)
        return pages.answer([represent(row) for row in found])

    def filtered(self, rows: QuerySet[Any, Any]) -> QuerySet[Any, Any]:
        """Raises ValidationError for a filter value that is not acceptable."""
        if self.filterset_class is None:
            return rows
        chosen: Any = self.filterset_class(self.request.query_params, queryset=rows, request=self.request)
        if not chosen.is_valid():
            raise ValidationError({name: _details(errors) for name, errors in chosen.errors.as_data().items()})
        for name, one in self.filters().items():
            if name in self.request.query_params and chosen.form.cleaned_data.get(name) in EMPTY:
                raise refused(name, "invalid", "This is no value that can be filtered by.")
            if isinstance(one, BooleanFilter) and self.request.query_params.get(name) not in FLAGS:
                raise refused(name, "invalid", "Send true or false.")  # the form would take 2 for true
        passed: QuerySet[Any, Any] = chosen.qs
        return passed


def _details(errors: Iterable[FormInvalid]) -> list[ErrorDetail]:
    return [ErrorDetail(message, code=error.code or "invalid") for error in errors for message in error.messages]
