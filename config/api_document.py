"""The OpenAPI document, generated from the code once a process, and the page that shows it to people."""

from functools import cache
from typing import Any

import orjson
import yaml
from django.http import HttpResponse
from django.shortcuts import render
from drf_spectacular.generators import SchemaGenerator
from rest_framework import serializers
from rest_framework.request import Request

from config.api_reference import reference
from fleet.api.base import ClubView
from fleet.api.renderers import JsonAnswer, StoredFile, to_json


class OpenApiJson(JsonAnswer):
    """The registered media type of OpenAPI documents in JSON."""

    media_type = "application/vnd.oai.openapi+json"


class OpenApiYaml(JsonAnswer):
    """YAML (RFC 9512)."""

    media_type = "application/yaml"
    format = "yaml"


@cache
def document() -> dict[str, Any]:
    """The document in plain JSON types."""
    generated = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    plain: dict[str, Any] = orjson.loads(to_json(generated))
    return plain


@cache
def as_yaml() -> bytes:
    """The document in YAML."""
    return yaml.safe_dump(document(), sort_keys=False, allow_unicode=True).encode()


class SchemaQuery(serializers.Serializer[Any]):
    """The form that the document is wanted in."""

    format = serializers.ChoiceField(choices=["json", "yaml"], required=False, help_text="Instead of an Accept header.")


class SchemaView(ClubView):
    """This document."""

    open_methods = frozenset({"GET", "HEAD"})
    renderer_classes = [JsonAnswer, OpenApiJson, OpenApiYaml]
    query = SchemaQuery
    schema = None

    def get(self, request: Request) -> HttpResponse:
        """The OpenAPI document of this version, in JSON or YAML."""
        wanted = self.validated_query().get("format")
        accepted = request.accepted_renderer
        if wanted == "yaml" or (wanted is None and accepted.format == "yaml"):
            return HttpResponse(as_yaml(), content_type=OpenApiYaml.media_type)
        return HttpResponse(to_json(document()), content_type="application/json" if wanted else accepted.media_type)


class DocsView(ClubView):
    """The document as a page for people."""

    open_methods = frozenset({"GET", "HEAD"})
    renderer_classes = [StoredFile]
    schema = None

    def get(self, request: Request) -> HttpResponse:
        """The page."""
        return render(request._request, "api/docs.html", reference(document()))
