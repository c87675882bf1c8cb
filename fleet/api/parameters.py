"""Query parameters. A typo in a filter must never show more than was asked for, so what is not known is refused."""

from collections.abc import Set as AbstractSet

from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request


def refuse_unknown_parameters(
    request: Request, known: AbstractSet[str], repeatable: AbstractSet[str] = frozenset()
) -> None:
    """Raises ValidationError for unknown, empty or repeated parameters and for control characters in values."""
    errors = {}
    for name, values in request.query_params.lists():
        problem = _problem(name, values, known, repeatable)
        if problem is not None:
            errors[name] = [problem]
    if errors:
        raise ValidationError(errors)


def _problem(name: str, values: list[str], known: AbstractSet[str], repeatable: AbstractSet[str]) -> ErrorDetail | None:
    if name not in known:
        listed = ", ".join(sorted(known)) or "none"
        return ErrorDetail(f"There is no such parameter here. Known: {listed}.", code="unknown_parameter")
    if len(values) > 1 and name not in repeatable:
        return ErrorDetail("Send this parameter once.", code="repeated")
    if any(not value.strip() for value in values):
        return ErrorDetail("Leave the parameter out, or give it a value.", code="blank")
    if any(not value.isprintable() for value in values):
        return ErrorDetail("Control characters are not accepted.", code="invalid")
    return None
