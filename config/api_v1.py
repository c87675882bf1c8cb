"""Every endpoint of version 1, on one screen. Each address answers with and without a slash at its end."""

from django.urls import URLPattern, path
from rest_framework.views import APIView

from config.api_document import DocsView, SchemaView
from config.problem_views import ProblemTypesView, ProblemTypeView
from defects.api.urls import ENDPOINTS as DEFECTS
from fleet.api import tokens
from fleet.api.urls import ENDPOINTS as REGISTER
from inspections.api.urls import ENDPOINTS as INSPECTIONS


def endpoint(address: str, view: type[APIView]) -> list[URLPattern]:
    """Two patterns, because a redirect would lose the body of a POST."""
    handler = view.as_view()
    return [path(address, handler), path(f"{address}/", handler)]


urlpatterns: list[URLPattern] = [
    *endpoint("tokens", tokens.TokensView),
    *endpoint("tokens/<uuid:pk>", tokens.TokenView),
    *endpoint("schema", SchemaView),
    *endpoint("docs", DocsView),
    *(pattern for address, view in (*REGISTER, *DEFECTS, *INSPECTIONS) for pattern in endpoint(address, view)),
    *endpoint("problems", ProblemTypesView),
    *endpoint("problems/<slug:code>", ProblemTypeView),
]
