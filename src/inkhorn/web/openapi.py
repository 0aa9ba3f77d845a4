"""The JSON twin of the page described by OpenAPI 3.1, put together from the schemas that the answers keep to."""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import inkhorn
from inkhorn.daybook.schema import KINDS, Kind

_LONGEST_NAME = 60
_LONGEST_SAID = 4000
_GIVEN: dict[str, Any] = {}
_TYPES: Mapping[tuple[str, str], dict[str, Any]] = {
    ("rest", "covered"): {"type": "boolean"},
    ("amend", "entry"): {"type": "integer", "minimum": 1},
    ("void", "entry"): {"type": "integer", "minimum": 1},
    ("amend", "replacement"): {"type": "object"},
    ("reading", "value"): _GIVEN,
    ("reading", "sd"): _GIVEN,
    ("reading", "water"): _GIVEN,
}


@functools.cache
def describe() -> Mapping[str, Any]:
    """Return the description of everything under ``/api/``."""
    parts: dict[str, Any] = {"entry": _entry()}
    for name in ("estimate", "counsel", "comparison", "daybook", "status", "receipt", "said", "error"):
        parts |= _flat(name)
    vessel, exemplar = (
        _query(
            "vessel",
            "the pot; the last one worked at if left out (of a cup drawn to try something on, its pot)",
        ),
        _query("exemplar", "the page to match; the newest if left out"),
    )
    as_ = {
        **_query("as", "the page as it looks now, or as it was when new"),
        "schema": {"enum": ["now", "new"]},
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "inkhorn: the bench",
            "version": inkhorn.__version__,
            "description": "The answers that the bench page shows, and the same door for entries. A request that "
            "changes something and comes from a page must come from this one.",
        },
        "paths": {
            "/api/status": _get(
                "status", "Where the daybook ends, and whether something is being worked out"
            ),
            "/api/daybook": _get("daybook", "Every entry as it was recorded"),
            "/api/estimate": _get("estimate", "What is in every vessel, once it is worked out"),
            "/api/counsel": _get("counsel", "What to do with a pot", vessel, exemplar, as_),
            "/api/compare": _get("comparison", "The newest trial beside the page", exemplar),
            "/api/record": {"post": _record()},
            "/api/say": {"post": _say()},
        },
        "components": {"schemas": parts},
    }


def _entry() -> dict[str, Any]:
    """Return the shape of an entry: one of the kinds, each with its keys; what they say the daybook checks."""
    return {
        "description": "One entry; docs/reference/entries.md says what each key may hold.",
        "anyOf": [_kind(kind) for kind in KINDS.values()],
    }


def _kind(kind: Kind) -> dict[str, Any]:
    shared = {
        "at": {"type": "string", "description": "when it began, ISO 8601; now if left out"},
        "who": {"type": "string"},
        "note": {"type": "string"},
    }
    keys = {
        key.name: {**_TYPES.get((kind.name, key.name), {"type": "string"}), "description": key.says}
        for key in kind.keys
    }
    return {
        "type": "object",
        "title": kind.name,
        "properties": {"kind": {"const": kind.name}, **shared, **keys},
        "required": ["kind", *(key.name for key in kind.keys if key.needed)],
    }


def _query(name: str, says: str) -> dict[str, Any]:
    return {
        "name": name,
        "in": "query",
        "required": False,
        "description": says,
        "schema": {"type": "string", "maxLength": _LONGEST_NAME},
    }


def _json(name: str, says: str) -> dict[str, Any]:
    schema = {"$ref": f"#/components/schemas/{name}"}
    return {"description": says, "content": {"application/json": {"schema": schema}}}


def _plain(says: str) -> dict[str, Any]:
    return {"description": says, "content": {"text/plain": {"schema": {"type": "string"}}}}


_SHUT = {
    "401": _plain("This device was not let in."),
    "421": _plain("The bench was asked for under a name that is not its own."),
}


def _get(name: str, says: str, *parameters: Mapping[str, Any]) -> dict[str, Any]:
    answers = {
        "200": _json(name, says),
        "422": _json("error", "What is wrong, where, and how to mend it"),
        **_SHUT,
    }
    return {
        "get": {"operationId": name, "summary": says, "parameters": list(parameters), "responses": answers}
    }


def _record() -> dict[str, Any]:
    key = {
        "name": "Idempotency-Key",
        "in": "header",
        "required": False,
        "description": "A name of your own for this entry: sent again under the same one it is kept once.",
        "schema": {"type": "string", "pattern": "^[A-Za-z0-9-]{1,80}$"},
    }
    return {
        "operationId": "record",
        "summary": "Record one entry",
        "parameters": [key],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/entry"}}},
        },
        "responses": {
            "201": _json("receipt", "What was understood, taken for granted, and is to be cared for"),
            "422": _json("error", "What is wrong, where, and how to mend it; nothing was recorded"),
            "403": _plain("Another page sent this; nothing was recorded."),
            "413": _plain("The body is larger than the bench takes."),
            **_SHUT,
        },
    }


def _say() -> dict[str, Any]:
    out = _record()
    texts = {key: {"type": "string", "maxLength": _LONGEST_SAID} for key in ("text", "who", "at", "answer")}
    flags = {key: {"type": "boolean"} for key in ("yes", "dry", "as_remark")}
    body = {"type": "object", "properties": texts | flags, "required": ["text"]}
    out["operationId"], out["summary"] = (
        "say",
        "Understand a sentence, and record it where nothing is in doubt",
    )
    out["requestBody"] = {"required": True, "content": {"application/json": {"schema": body}}}
    out["responses"] |= {
        "200": _json("said", "Understood but not recorded, or one short question"),
        "201": _json("said", "Recorded"),
    }
    return out


def _flat(name: str) -> dict[str, Any]:
    """Return a shipped schema and the parts it names, each under a name of its own."""
    schema = json.loads((files("inkhorn.web") / "schemas" / f"{name}.json").read_text("utf-8"))
    inner = schema.pop("$defs", {})
    for key in ("$schema", "$id"):
        schema.pop(key, None)
    found = {name: schema} | {f"{name}-{part}": one for part, one in inner.items()}
    return {key: _renamed(one, name) for key, one in found.items()}


def _renamed(node: Any, name: str) -> Any:
    if isinstance(node, list):
        return [_renamed(one, name) for one in node]
    if not isinstance(node, dict):
        return node
    out = {key: _renamed(one, name) for key, one in node.items()}
    reference = out.get("$ref")
    if isinstance(reference, str) and reference.startswith("#/$defs/"):
        out["$ref"] = f"#/components/schemas/{name}-{reference.removeprefix('#/$defs/')}"
    elif reference == "#":
        out["$ref"] = f"#/components/schemas/{name}"
    return out
