"""What the API's page shows, taken from the OpenAPI document: no HTML here, and no schema rules in the template."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

REFERENCE = "#/components/schemas/"


@dataclass(frozen=True, slots=True)
class Line:
    """One parameter or field. ``target`` names the schema that its type leads to."""

    name: str
    kind: str
    target: str
    required: bool
    description: str


@dataclass(frozen=True, slots=True)
class Shape:
    """A body or an answer: by reference to a schema, or in words."""

    label: str
    kind: str
    target: str
    examples: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Operation:
    """One method of one address."""

    id: str
    method: str
    path: str
    summary: str
    description: str
    open: bool
    parameters: tuple[Line, ...]
    bodies: tuple[Shape, ...]
    answers: tuple[Shape, ...]
    problems: tuple[tuple[str, str], ...]


def reference(document: Mapping[str, Any]) -> dict[str, Any]:
    """Context of the page: ``groups`` of operations by tag, and ``schemas``."""
    groups: dict[str, list[Operation]] = {}
    for path, operations in sorted(document["paths"].items()):
        for method, operation in operations.items():
            tag = operation.get("tags", ["other"])[0]
            groups.setdefault(tag, []).append(_operation(path, method, operation))
    schemas = document.get("components", {}).get("schemas", {})
    return {
        "info": document["info"],
        "version": document["openapi"],
        "groups": sorted(groups.items()),
        "schemas": [(name, schema, tuple(_fields(schema))) for name, schema in sorted(schemas.items())],
    }


def _operation(path: str, method: str, operation: Mapping[str, Any]) -> Operation:
    responses = operation["responses"]
    body = operation.get("requestBody", {}).get("content", {})
    return Operation(
        id=operation["operationId"],
        method=method.upper(),
        path=path,
        summary=operation.get("summary", ""),
        description=operation.get("description", ""),
        open={} in operation.get("security", ()),
        parameters=tuple(_parameter(one) for one in operation.get("parameters", ())),
        bodies=tuple(_shape(media_type, content) for media_type, content in body.items()),
        answers=tuple(_answers(responses)),
        problems=tuple((status, one["description"]) for status, one in responses.items() if status >= "4"),
    )


def _answers(responses: Mapping[str, Any]) -> Iterator[Shape]:
    for status, response in responses.items():
        if status >= "4":
            continue
        content: dict[str, Any] = next(iter(response.get("content", {}).values()), {})
        yield _shape(status, content) if content else Shape(status, response["description"], "", ())


def _shape(label: str, content: Mapping[str, Any]) -> Shape:
    kind, target = words(content.get("schema", {}))
    return Shape(label, kind, target, tuple(_examples(content)))


def _examples(content: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, example in content.get("examples", {}).items():
        yield example.get("summary", name), json.dumps(example.get("value"), indent=2, ensure_ascii=False)


def _parameter(parameter: Mapping[str, Any]) -> Line:
    kind, target = words(parameter["schema"])
    description = parameter.get("description", "")
    return Line(parameter["name"], f"{parameter['in']}: {kind}", target, parameter.get("required", False), description)


def _fields(schema: Mapping[str, Any]) -> Iterator[Line]:
    required = schema.get("required", ())
    for name, field in schema.get("properties", {}).items():
        kind, target = words(field)
        yield Line(name, kind, target, name in required, field.get("description", ""))


def words(schema: Mapping[str, Any]) -> tuple[str, str]:
    """The type in words, and the name of the schema that it refers to (blank if none)."""
    if "$ref" in schema:
        name = schema["$ref"].removeprefix(REFERENCE)
        return name, name
    for several in ("oneOf", "anyOf", "allOf"):
        if several in schema:
            return _joined([words(one) for one in schema[several]])
    if "items" in schema:
        kind, target = words(schema["items"])
        return f"list of {kind}", target
    return _simple(schema), ""


def _joined(parts: list[tuple[str, str]]) -> tuple[str, str]:
    return " or ".join(kind for kind, _ in parts if kind), next((target for _, target in parts if target), "")


def _simple(schema: Mapping[str, Any]) -> str:
    if "enum" in schema:
        return "one of " + ", ".join(str(value) for value in schema["enum"] if value is not None)
    kinds = schema.get("type", "anything")
    named = " or ".join(kinds) if isinstance(kinds, list) else str(kinds)
    limits = [f"{word} {schema[name]}" for name, word in _LIMITS.items() if name in schema]
    return ", ".join([f"{named} ({schema['format']})" if "format" in schema else named, *limits])


_LIMITS = {
    "minimum": "at least",
    "maximum": "at most",
    "minLength": "minimum length",
    "maxLength": "maximum length",
    "pattern": "pattern",
}
