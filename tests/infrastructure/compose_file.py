"""docker-compose.yml as data, with its variables filled in the way Compose does."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).resolve().parents[2] / "docker-compose.yml"
VARIABLE = re.compile(r"\$(?:\$|\{(?P<name>\w+)(?P<kind>:[?-])(?P<rest>[^}]*)\})")


class Missing(Exception):
    """A variable that has no default is not set."""


def services(variables: Mapping[str, str]) -> dict[str, Any]:
    """The services by name (Compose specification, chapter Interpolation: ``${X:?message}``, ``${X:-default}``, ``$$``)."""
    filled: dict[str, Any] = _fill(yaml.safe_load(FILE.read_text()), variables)["services"]
    return filled


def required_variables() -> set[str]:
    return {found["name"] for found in VARIABLE.finditer(FILE.read_text()) if found["kind"] == ":?"}


def _fill(node: Any, variables: Mapping[str, str]) -> Any:
    if isinstance(node, dict):
        return {name: _fill(value, variables) for name, value in node.items()}
    if isinstance(node, list):
        return [_fill(value, variables) for value in node]
    return VARIABLE.sub(lambda found: _value(found, variables), node) if isinstance(node, str) else node


def _value(found: "re.Match[str]", variables: Mapping[str, str]) -> str:
    if found["name"] is None:
        return "$"
    if value := variables.get(found["name"]):
        return value
    if found["kind"] == ":?":
        raise Missing(found["name"])
    return found["rest"]
