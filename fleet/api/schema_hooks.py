"""Last touches on the OpenAPI document."""

from collections.abc import Iterable
from typing import Any

Endpoint = tuple[str, str, str, Any]


def only_without_slash(endpoints: Iterable[Endpoint], **_: object) -> list[Endpoint]:
    """Every address answers with a slash at its end too; one of the two is enough for a reader."""
    return [endpoint for endpoint in endpoints if not endpoint[0].endswith("/")]


def enums_in_place(result: dict[str, Any], **_: object) -> dict[str, Any]:
    """Values stay beside their field; the mark for a hook that would give every set of values a name goes."""
    _unmark(result)
    return result


def _unmark(node: object) -> None:
    if isinstance(node, dict):
        node.pop("x-spec-enum-id", None)
    children = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    for child in children:
        _unmark(child)


def refuse_unknown_fields(result: dict[str, Any], **_: object) -> dict[str, Any]:
    """Bodies that are sent may hold no other fields (the views refuse them)."""
    for name, schema in result.get("components", {}).get("schemas", {}).items():
        if name.endswith("Request") and schema.get("type") == "object":
            schema.setdefault("additionalProperties", False)
    return result


def ids_in_paths(result: dict[str, Any], **_: object) -> dict[str, Any]:
    """The key of a resource is called ``id`` in addresses, as in bodies."""
    for operations in result["paths"].values():
        for operation in operations.values():
            for parameter in operation.get("parameters", ()):
                if parameter["in"] == "path" and parameter["name"] == "pk":
                    parameter["name"] = "id"
    result["paths"] = {address.replace("{pk}", "{id}"): operations for address, operations in result["paths"].items()}
    return result
