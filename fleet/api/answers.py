"""Answers that several resources share."""

from collections.abc import Mapping
from typing import Any

from rest_framework.response import Response

from fleet.airworthiness.verdict import Verdict
from fleet.api import etags
from fleet.api.verdicts import shown_verdict


def changed(representation: Mapping[str, Any], verdict: Verdict | None = None) -> Response:
    """200 to a PATCH. The entity tag is that of the representation alone, which is what a GET answers."""
    body = dict(representation) if verdict is None else with_airworthiness(representation, verdict)
    return Response(body, headers={"ETag": etags.of_representation(representation)})


def with_airworthiness(representation: Mapping[str, Any], verdict: Verdict) -> dict[str, Any]:
    """The representation with the verdict as committed."""
    return {**representation, "airworthiness": shown_verdict(verdict)}
