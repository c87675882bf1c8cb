"""The addresses of the service, and the plain board."""

from django.urls import path

from config.urls import handler400, handler403, handler404, handler500
from config.urls import urlpatterns as real
from tests.bench.plain import PlainBoard

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]

urlpatterns = [*real, path("plain/board", PlainBoard.as_view({"get": "list"}))]
