"""Every address of the service on one screen."""

from django.urls import URLPattern, URLResolver, include, path, re_path

from config.health import healthz, readyz
from config.problem_views import UnknownPath

handler400 = "config.problems.bad_request"
handler403 = "config.problems.permission_denied"
handler404 = "config.problems.page_not_found"
handler500 = "config.problems.server_error"

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", healthz),
    path("readyz", readyz),
    path("api/v1/", include("config.api_v1")),
    re_path(r"^api(/.*)?$", UnknownPath.as_view()),
]
