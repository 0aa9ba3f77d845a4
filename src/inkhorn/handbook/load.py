"""Typed access to the tables: ``value("oxidation.stretch")``, ``row(...)``, ``group(...)``."""

from __future__ import annotations

import difflib
import functools
import math
import tomllib
from collections.abc import Iterator, Mapping
from importlib import resources
from types import MappingProxyType
from typing import Any

from inkhorn.errors import HandbookError
from inkhorn.handbook.rows import MARKS, SHAPES, Row

_FIELDS = ("what", "value", "unit", "spread", "shape", "mark", "source")


@functools.cache
def tree() -> Mapping[str, Any]:
    """Return every table as nested read-only mappings, keyed by file name then key."""
    folder = resources.files("inkhorn.handbook") / "tables"
    out: dict[str, Any] = {}
    for item in sorted(folder.iterdir(), key=lambda p: p.name):
        if item.name.endswith(".toml"):
            try:
                out[item.name.removesuffix(".toml")] = tomllib.loads(item.read_text("utf-8"))
            except tomllib.TOMLDecodeError as error:
                raise HandbookError(
                    f"the table is not valid TOML ({error})", where=f"handbook/tables/{item.name}"
                ) from error
    return MappingProxyType(out)


def _walk(prefix: str, node: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for key, child in node.items():
        if isinstance(child, Mapping):
            name = f"{prefix}.{key}" if prefix else key
            if "value" in child:
                yield name, child
            else:
                yield from _walk(name, child)


@functools.cache
def rows() -> Mapping[str, Row]:
    """Return every row of every table by its dotted name."""
    return MappingProxyType({name: _row(name, node) for name, node in _walk("", tree())})


def _row(name: str, node: Mapping[str, Any]) -> Row:
    where = f"handbook row {name}"
    unknown = sorted(set(node) - set(_FIELDS))
    if unknown:
        raise HandbookError(
            f"unknown field {unknown[0]!r}", where=where, mend=f"Known fields: {', '.join(_FIELDS)}"
        )
    missing = [f for f in ("what", "value", "unit", "spread", "mark") if f not in node]
    if missing:
        raise HandbookError(f"no {missing[0]}", where=where, mend=f"Give the row a {missing[0]}")
    shape = node.get("shape", "normal")
    if node["mark"] not in MARKS or shape not in SHAPES:
        raise HandbookError(f"mark {node['mark']!r} or shape {shape!r} is unknown", where=where)
    value, spread = float(node["value"]), float(node["spread"])
    if not (math.isfinite(value) and math.isfinite(spread) and spread >= 0):
        raise HandbookError("value and spread must be finite, spread not negative", where=where)
    if shape == "lognormal" and value <= 0:
        raise HandbookError("a lognormal row needs a positive value", where=where)
    if shape == "logitnormal" and not (value > 0 and value + spread < 1):
        raise HandbookError("a logitnormal row needs 0 < value and value + spread < 1", where=where)
    return Row(
        name=name,
        what=node["what"],
        value=value,
        unit=node["unit"],
        spread=spread,
        shape=shape,
        mark=node["mark"],
        source=node.get("source", ""),
    )


def row(name: str) -> Row:
    """Return one row by its dotted name; raise `HandbookError` naming the nearest."""
    try:
        return rows()[name]
    except KeyError:
        near = difflib.get_close_matches(name, rows(), n=1)
        mend = f"The nearest row is {near[0]}" if near else ""
        raise HandbookError("there is no such row", where=f"handbook row {name}", mend=mend) from None


def value(name: str) -> float:
    """Return the value of one row."""
    return row(name).value


def group(name: str) -> Mapping[str, Any]:
    """Return the raw group at a dotted name (its rows and its plain keys)."""
    node: Any = tree()
    for part in name.split("."):
        if not isinstance(node, Mapping) or part not in node:
            raise HandbookError("there is no such group", where=f"handbook group {name}")
        node = node[part]
    if not isinstance(node, Mapping):
        raise HandbookError("this is a plain key, not a group", where=f"handbook group {name}")
    return MappingProxyType(dict(node))
