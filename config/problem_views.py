"""The descriptions that the ``type`` of every problem leads to."""

from dataclasses import asdict
from typing import Any, Never

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from config.problem_types import PROBLEM_TYPES, ProblemType
from fleet.api.base import ClubView
from fleet.errors import NotFound


class ProblemTypeShape(serializers.Serializer[Any]):
    """One kind of refusal."""

    type = serializers.CharField(help_text="What a problem's type says.")
    code = serializers.CharField()
    status = serializers.IntegerField()
    title = serializers.CharField()
    meaning = serializers.CharField(help_text="When it comes.")
    cure = serializers.CharField(help_text="What to do.")


class ProblemTypesShape(serializers.Serializer[Any]):
    """All of them."""

    results = ProblemTypeShape(many=True)


def _shown(problem_type: ProblemType) -> dict[str, object]:
    return {"type": problem_type.uri, **asdict(problem_type)}


class ProblemTypesView(ClubView):
    """Every kind of refusal that the API answers."""

    open_methods = frozenset({"GET", "HEAD"})
    answers = {"GET": ProblemTypesShape}

    def get(self, request: Request) -> Response:
        """All kinds, by status."""
        return Response({"results": [_shown(one) for one in PROBLEM_TYPES.values()]})


class ProblemTypeView(ClubView):
    """One kind of refusal: when it comes and what to do."""

    open_methods = frozenset({"GET", "HEAD"})
    answers = {"GET": ProblemTypeShape}

    def get(self, request: Request, code: str) -> Response:
        """The kind with this code."""
        if code not in PROBLEM_TYPES:
            raise NotFound("not_found", "There is no problem type with this code. GET /api/v1/problems lists all.")
        return Response(_shown(PROBLEM_TYPES[code]))


class UnknownPath(APIView):
    """Answers every address below /api/ that is none, whatever the method, with a problem (also while debugging)."""

    authentication_classes = ()
    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> Never:
        """Raises NotFound."""
        raise NotFound("not_found", "Nothing has this address. GET /api/v1/schema lists every address.")
