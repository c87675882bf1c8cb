"""For the fuzzer's process: half of its cases name records that exist, so that it gets past "not there"."""

import json
import os
import random
from typing import Any

import schemathesis

IDS: dict[str, Any] = json.loads(os.environ.get("KNOWN_IDS", "{}"))
chance = random.Random(1)  # noqa: S311  # reproducible, not secret
BODY_FIELDS = {"aircraft": "aircraft", "aircraft_type": "aircraft-types", "defect": "defects", "member": "members"}


@schemathesis.hook
def map_path_parameters(context: Any, path_parameters: dict[str, Any] | None) -> dict[str, Any] | None:
    """Put the id of a known record of this route."""
    if not path_parameters or chance.random() < 0.5:
        return path_parameters
    parts = context.operation.path.removeprefix("/api/v1/").strip("/").split("/")
    known = dict(path_parameters)
    for name in path_parameters:
        place = parts.index("{" + name + "}") if "{" + name + "}" in parts else 1
        kind = parts[0] if place == 1 else f"{parts[0]}/{parts[2]}"
        if kind in IDS:
            known[name] = IDS[kind]
    return known


@schemathesis.hook
def map_body(context: Any, body: Any) -> Any:
    """Name known records in what is sent."""
    if not isinstance(body, dict) or chance.random() < 0.3:
        return body
    return {name: IDS.get(BODY_FIELDS.get(name, ""), value) for name, value in body.items()}
