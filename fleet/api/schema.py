"""The OpenAPI document, from what the views declare: ``bodies``, ``answers``, ``query``, filters, ``permits``."""

import re
from collections.abc import Iterator
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from rest_framework import serializers

from fleet.api.base import ClubView
from fleet.api.documented_filters import list_parameters
from fleet.api.documented_headers import request_headers, response_headers
from fleet.api.documented_problems import problem_statuses
from fleet.api.listing import ListView
from fleet.api.pagination import KeysetPages


class ProblemError(serializers.Serializer[Any]):
    """One field or query parameter that is not acceptable."""

    pointer = serializers.CharField(allow_blank=True, help_text="JSON pointer (RFC 6901) into what was sent.")
    code = serializers.CharField()
    detail = serializers.CharField()


class Problem(serializers.Serializer[Any]):
    """A refusal (RFC 9457): nothing was changed."""

    type = serializers.CharField(help_text="Relative reference to the description of this kind of problem.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField(help_text="What to do.")
    code = serializers.CharField(help_text="The precise reason.")
    errors = ProblemError(many=True, required=False)  # type: ignore[assignment]  # a field, taken off by the framework
    current = serializers.DictField(required=False, help_text="The present state, where it is in the way.")


VERBS = {"POST": "create", "PATCH": "change", "DELETE": "delete"}


class DocumentedEndpoint(AutoSchema):
    """Adds what the base view does by itself."""

    def get_operation_id(self) -> str:
        """Resource and verb (``aircraft_list``, ``aircraft_retrieve``, ``defects_create``), or act (``defects_triage``)."""
        parts = [part for part in re.sub(f"^{self.path_prefix}", "", self.path).split("/") if part]
        words = [part.replace("-", "_").replace(".", "_") for part in parts if "{" not in part]
        on_one = "{" in parts[-1]
        if self.method == "POST" and len(words) < len(parts):
            return "_".join(words)
        if self.method == "GET":
            return "_".join([*words, "retrieve" if on_one else "list" if self._is_list_view() else "get"])
        return "_".join([*words, VERBS.get(self.method, self.method.lower())])

    def get_summary(self) -> str | None:
        """First sentence of the handler's docstring."""
        return super().get_summary() or re.split(r"\.\s|\n", self.get_description())[0].rstrip(".") or None

    def get_override_parameters(self) -> list[Any]:
        """Query parameters and request headers."""
        view = self.view
        if not isinstance(view, ClubView):
            return []
        declared: list[Any] = [view.query] if view.query and self.method == "GET" else []
        paged = list_parameters(view) if isinstance(view, ListView) and self.method == "GET" else []
        return [*declared, *paged, *request_headers(view, self.method, self.path)]

    def get_request_serializer(self) -> Any:
        """What the view declares."""
        return self.view.bodies.get(self.method) if isinstance(self.view, ClubView) else None

    def get_response_serializers(self) -> Any:
        """What the view declares, under the status of success."""
        if not isinstance(self.view, ClubView):
            return None
        answer = self.view.answers.get(self.method)
        return dict.fromkeys(self._statuses(self.view), answer)

    def _statuses(self, view: ClubView) -> Iterator[int]:
        if self.method == "DELETE":
            yield 204
        elif self.method != "POST":
            yield 200
        else:
            yield view.success_of_post
            body = view.bodies.get("POST")
            if view.success_of_post != 200 and body is not None and "id" in body().fields:
                yield 200

    def _is_list_view(self, serializer: Any = None) -> bool:
        return isinstance(self.view, ListView) and self.method == "GET"

    def get_paginated_name(self, serializer_name: str) -> str:
        """Name of the component that holds one page."""
        return f"{serializer_name}Page"

    def _get_paginator(self) -> KeysetPages | None:
        return KeysetPages() if self._is_list_view() else None

    def _get_pagination_parameters(self) -> list[Any]:
        return []

    def get_operation(self, *args: Any, **options: Any) -> dict[str, Any] | None:
        """With problem answers and response headers."""
        operation: dict[str, Any] | None = super().get_operation(*args, **options)
        if operation is None or not isinstance(self.view, ClubView):
            return operation
        if self.method in self.view.open_methods:
            operation["security"] = [{}]
        for status, response in operation["responses"].items():
            response["headers"] = {
                **response.get("headers", {}),
                **response_headers(self.view, self.method, int(status)),
            }
            response["description"] = response["description"] or "Done."
        operation["responses"] = dict(sorted((operation["responses"] | self._problems(self.view)).items()))
        return operation

    def _problems(self, view: ClubView) -> dict[str, Any]:
        reference = self.resolve_serializer(Problem, "response").ref
        content = {"content": {"application/problem+json": {"schema": reference}}}
        found = problem_statuses(view, self.method, self.path)
        answers: dict[str, Any] = {str(status): {"description": title, **content} for status, title in found.items()}
        for status in {"429", "503"} & answers.keys():
            answers[status] |= {"headers": response_headers(view, self.method, int(status))}
        if self.method == "GET" and answers:
            answers["304"] = {"description": "Not modified: If-None-Match names the current version."}
        return answers


class BearerScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """``Authorization: Bearer``."""

    target_class = "fleet.api.authentication.BearerToken"
    name = "bearer"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """As OpenAPI wants it."""
        return {"type": "http", "scheme": "bearer", "description": "A token from POST /api/v1/tokens."}


class SessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """The session of the pages."""

    target_class = "fleet.api.authentication.PageSession"
    name = "session"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """As OpenAPI wants it."""
        return {
            "type": "apiKey",
            "in": "cookie",
            "name": "sessionid",
            "description": "The session of the pages; unsafe methods need the X-CSRFToken header.",
        }
