"""Every address of the service on one screen."""

from django.urls import URLPattern, URLResolver, path

from config.health import healthz, readyz

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", healthz),
    path("readyz", readyz),
]
