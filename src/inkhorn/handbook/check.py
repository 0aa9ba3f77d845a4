"""Go through the handbook row by row: unit, spread, mark and a source that is known.

The loader stops at the first bad row; this module reads the same tables with
an eye to everything that is wrong, so that one run names all of it.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from importlib import resources
from typing import Any

import attrs

from inkhorn.errors import HandbookError
from inkhorn.handbook.load import tree
from inkhorn.handbook.rows import MARKS, SHAPES

_NEEDED = ("what", "value", "unit", "spread", "mark")
_ALLOWED = (*_NEEDED, "shape", "source")
_KEY = re.compile(r"[A-Za-z0-9-]+")
_CITED = re.compile(r"\[([A-Za-z0-9][A-Za-z0-9-]*)\]")


@attrs.frozen(kw_only=True)
class Fault:
    """One thing wrong with one row, grid or bibliography entry."""

    where: str
    what: str

    def to_dict(self) -> dict[str, str]:
        """Return the parts for a JSON answer."""
        return {"where": self.where, "what": self.what}


@attrs.frozen(kw_only=True)
class Report:
    """What a check of the whole handbook found.

    Parameters
    ----------
    rows, grids, sources : int
        How many were read.
    faults : tuple of Fault
        What must be mended; the check fails where there is any.
    memory : tuple of str
        Names of the rows that are given from memory: each waits for a source.
    unused : tuple of str
        Keys of the bibliography that no row, grid or docstring cites.
    marks : mapping
        How many rows carry each mark.
    """

    rows: int
    grids: int
    sources: int
    faults: tuple[Fault, ...]
    memory: tuple[str, ...]
    unused: tuple[str, ...]
    marks: Mapping[str, int]

    @property
    def passed(self) -> bool:
        """Whether nothing must be mended."""
        return not self.faults

    def to_dict(self) -> dict[str, Any]:
        """Return the whole report for a JSON answer."""
        return {
            "passed": self.passed,
            "rows": self.rows,
            "grids": self.grids,
            "sources": self.sources,
            "marks": dict(self.marks),
            "faults": [fault.to_dict() for fault in self.faults],
            "memory": list(self.memory),
            "unused": list(self.unused),
        }


def check() -> Report:
    """Check every table of the installed handbook against its bibliography."""
    books, faults = bibliography()
    return check_tables(tree(), books, grids=_grids(), cited=_cited(), faults=faults)


def check_tables(
    tables: Mapping[str, Any],
    books: Mapping[str, str],
    *,
    grids: Mapping[str, bool] | None = None,
    cited: frozenset[str] = frozenset(),
    faults: tuple[Fault, ...] = (),
) -> Report:
    """Check tables given as nested mappings.

    Parameters
    ----------
    tables : mapping
        File name (without ending) to its parsed TOML.
    books : mapping
        Key of the bibliography to the full reference.
    grids : mapping, optional
        Name of each CSV grid, and whether a TOML of the same name lies beside it.
    cited : frozenset of str, optional
        Keys that are cited elsewhere, as in docstrings.
    faults : tuple of Fault, optional
        Faults found before, put in front of those found here.
    """
    grids = grids or {}
    found = list(faults)
    used = set(cited)
    memory: list[str] = []
    marks: dict[str, int] = dict.fromkeys(MARKS, 0)
    count = 0
    for name, node in _nodes("", tables):
        is_row = name not in grids and not _is_passage(node)
        count += is_row
        found += [Fault(where=name, what=what) for what in _faults_of(node, books, is_row=is_row)]
        used.update(keys_of(str(node.get("source", ""))))
        if node.get("mark") in marks:
            marks[node["mark"]] += 1
        if node.get("mark") == "memory":
            memory.append(name)
    found += [
        Fault(where=f"{g}.csv", what="no TOML of the same name beside it")
        for g, ok in grids.items()
        if not ok
    ]
    return Report(
        rows=count,
        grids=len(grids),
        sources=len(books),
        faults=tuple(found),
        memory=tuple(memory),
        unused=tuple(sorted(set(books) - used)),
        marks=marks,
    )


def keys_of(source: str) -> tuple[str, ...]:
    """Return the first word of each part of a source line: ``"KEY, p. 3; OTHER (table 2)"`` gives both.

    The first must be a key of the bibliography; a later part may be a further
    key or only more of the place (``"KEY, p. 3; table 2"``).
    """
    return tuple(found[0] for part in source.split(";") if (found := _KEY.match(part.strip())))


def bibliography() -> tuple[Mapping[str, str], tuple[Fault, ...]]:
    """Read every file of sources; return the references by key, and what is wrong with them."""
    books: dict[str, str] = {}
    faults: list[Fault] = []
    folder = resources.files("inkhorn.handbook") / "sources"
    for item in sorted(folder.iterdir(), key=lambda p: p.name):
        if not item.name.endswith(".toml"):
            continue
        where = f"sources/{item.name}"
        try:
            entries = tomllib.loads(item.read_text("utf-8"))
        except tomllib.TOMLDecodeError as error:
            raise HandbookError(f"the bibliography is not valid TOML ({error})", where=where) from error
        for key, text in entries.items():
            if not isinstance(text, str) or not text.strip():
                faults.append(Fault(where=f"{where} {key}", what="the reference is empty"))
            elif books.get(key, text) != text:
                faults.append(
                    Fault(where=f"{where} {key}", what="the same key stands for another work elsewhere")
                )
            else:
                books[key] = text
    return books, tuple(faults)


def _nodes(prefix: str, node: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield every group that looks like a row or a grid's description, however incomplete."""
    for key, child in node.items():
        if isinstance(child, Mapping):
            name = f"{prefix}.{key}" if prefix else key
            plain = {field for field, given in child.items() if not isinstance(given, Mapping)}
            if {"value", "mark", "spread"} & plain:
                yield name, child
            else:
                yield from _nodes(name, child)


def _is_passage(node: Mapping[str, Any]) -> bool:
    """Tell whether a node is words (a caution, say) and no number."""
    return "text" in node and "value" not in node


def _faults_of(node: Mapping[str, Any], books: Mapping[str, str], *, is_row: bool) -> Iterator[str]:
    needed = _NEEDED if is_row else ("mark",) if _is_passage(node) else ("what", "mark")
    for field in needed:
        if field not in node or (isinstance(node[field], str) and not node[field].strip()):
            yield f"no {field}"
    if is_row:
        yield from _row_faults(node)
    mark = node.get("mark")
    if mark is not None and mark not in MARKS:
        yield f"the mark {mark!r} is none of {', '.join(MARKS)}"
    keys = keys_of(str(node.get("source", "")))
    if mark == "published" and not keys:
        yield "published, but no source is named"
    if mark == "published" and keys and keys[0] not in books:
        yield f"the source {keys[0]!r} is not in the bibliography"


def _row_faults(node: Mapping[str, Any]) -> Iterator[str]:
    for field in sorted(set(node) - set(_ALLOWED)):
        yield f"unknown field {field!r}"
    if node.get("shape", "normal") not in SHAPES:
        yield f"the shape {node['shape']!r} is none of {', '.join(SHAPES)}"
    for field in ("value", "spread"):
        number = node.get(field, 0)
        if isinstance(number, bool) or not isinstance(number, int | float) or not math.isfinite(number):
            yield f"the {field} is not a number"
        elif field == "spread" and number < 0:
            yield "the spread is negative"
    # A definition of a named standard may be exact though it is recalled from memory.
    exact = node.get("spread") == 0 and node.get("value") != 0
    if node.get("mark") == "memory" and exact and not node.get("source"):
        yield "given from memory, yet with no spread"


def _grids() -> dict[str, bool]:
    """Return each CSV grid of the tables, and whether its description lies beside it."""
    names = {item.name for item in (resources.files("inkhorn.handbook") / "tables").iterdir()}
    return {
        n.removesuffix(".csv"): f"{n.removesuffix('.csv')}.toml" in names
        for n in sorted(names)
        if n.endswith(".csv")
    }


def _cited() -> frozenset[str]:
    """Return the keys in square brackets anywhere in the package's own modules."""
    out: set[str] = set()
    stack = [resources.files("inkhorn")]
    while stack:
        for item in stack.pop().iterdir():
            if item.is_dir() and not item.name.startswith("_"):
                stack.append(item)
            elif item.name.endswith(".py"):
                out.update(_CITED.findall(item.read_text("utf-8")))
    return frozenset(out)
