"""The schemas of the JSON answers, and a check that an answer keeps to one and says nothing beyond it."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from jsonschema import Draft202012Validator

_FOLDER = resources.files("inkhorn.web") / "schemas"


def names() -> list[str]:
    """Return the names of all schemas that are shipped."""
    return sorted(
        item.name.removesuffix(".json") for item in _FOLDER.iterdir() if item.name.endswith(".json")
    )


def schema(name: str) -> dict[str, Any]:
    """Return one schema as it is shipped."""
    out: dict[str, Any] = json.loads((_FOLDER / f"{name}.json").read_text("utf-8"))
    return out


def _closed(node: Any) -> Any:
    """Return a schema in which no object may hold a key that is not described."""
    if isinstance(node, list):
        return [_closed(item) for item in node]
    if not isinstance(node, dict):
        return node
    out = {key: _closed(value) for key, value in node.items()}
    if "properties" in node and isinstance(node.get("type"), str):
        out.setdefault("additionalProperties", False)
    return out


def faults(name: str, answer: Any) -> list[str]:
    """Return everything in which an answer breaks its schema or goes beyond it."""
    validator = Draft202012Validator(_closed(schema(name)))
    return [f"{'/'.join(map(str, e.absolute_path))}: {e.message}" for e in validator.iter_errors(answer)]
