"""Unknown fields of a body are refused: a misspelt optional field would otherwise be lost in silence."""

from typing import Any

from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.fields import Field
from rest_framework.serializers import BaseSerializer, ListSerializer, Serializer


def refuse_unknown_fields(serializer: BaseSerializer[Any]) -> None:
    """Raises ValidationError that names every unknown field, at any depth."""
    errors = _unknown(serializer, serializer.initial_data)
    if errors:
        raise ValidationError(errors)


def _unknown(field: Field[Any, Any, Any, Any] | BaseSerializer[Any], sent: object) -> dict[str, Any]:
    if isinstance(field, ListSerializer) and field.child is not None and isinstance(sent, list):
        nested = {str(place): _unknown(field.child, one) for place, one in enumerate(sent)}
    elif isinstance(field, Serializer) and isinstance(sent, dict):
        nested = {name: _member(field, name, value) for name, value in sent.items()}
    else:
        nested = {}
    return {name: errors for name, errors in nested.items() if errors}


def _member(serializer: Serializer[Any], name: str, value: object) -> Any:
    known = serializer.fields.get(name)
    if known is None or known.read_only:
        return [
            ErrorDetail(f"There is no field {name} here. Check its spelling, or leave it out.", code="unknown_field")
        ]
    return _unknown(known, value)
