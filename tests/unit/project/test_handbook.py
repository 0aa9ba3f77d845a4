"""The handbook is whole, and none of it is dead: every row is read by name, or waits in the open."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

import inkhorn
from inkhorn.handbook.check import check, check_tables
from inkhorn.handbook.load import rows, tree

PACKAGE = Path(inkhorn.__file__).parent
PAGE = PACKAGE.parents[1] / "docs" / "reference" / "handbook.md"

#: Under this heading the page shows the rows that no code reads yet, with why.
WAITING = "## Rows that no answer rests on yet"


def _words_of(node: Any) -> Iterable[str]:
    """Yield every text in a table: a table may name a row of another."""
    if isinstance(node, str):
        yield node
    elif isinstance(node, Mapping):
        for child in node.values():
            yield from _words_of(child)


class Names:
    """What the package's code says of row names: whole texts, texts with gaps, fields of settings."""

    def __init__(self) -> None:
        self.texts = set(_words_of(tree()))
        self.fields: set[str] = set()
        self.gapped: list[re.Pattern[str]] = []
        self.ending: list[re.Pattern[str]] = []
        for path in PACKAGE.rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                self._take(node)

    def _take(self, node: ast.AST) -> None:
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            self.texts.add(node.value)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            self.fields.add(node.target.id)
        elif isinstance(node, ast.JoinedStr):
            parts = [v.value if isinstance(v, ast.Constant) else None for v in node.values]
            pattern = re.compile("".join(r"[^ ]+" if part is None else re.escape(part) for part in parts))
            head, last = parts[0] or "", parts[-1] or ""
            # A gap must leave a literal group before it, or a literal field behind it.
            group = head.count(".") > 1 or re.search(r"\.\w+_$", head)
            field = last and (head or re.search(r"[._][a-z_0-9]+$", last))
            if group or field:
                self.gapped.append(pattern)
            elif head.count(".") == 1:
                self.ending.append(pattern)

    def have(self, name: str) -> bool:
        """Tell whether any code reads a row: by its name, or by its field in a group it goes through."""
        parts = name.split(".")
        # A single word proves nothing: it stands in many texts.
        tails = {".".join(parts[i:]) for i in range(max(len(parts) - 1, 1))}
        field = parts[-1] in self.fields | self.texts or parts[-1][-1].isdigit()
        return (
            bool(tails & self.texts)
            or any(p.fullmatch(tail) for p in self.gapped for tail in tails)
            or (field and any(p.fullmatch(name) for p in self.ending))
            # The truth of make-believe workshops joins the names of its bands from two words.
            or (parts[0] == "simulate" and set(parts[-1].split("_")) <= self.texts)
        )


@pytest.fixture(scope="module")
def names() -> Names:
    """Read the package's code once."""
    return Names()


def _waiting() -> dict[str, str]:
    """Return each row that the page lists as not read yet, with the line of the list."""
    lines = PAGE.read_text("utf-8").partition(WAITING)[2].splitlines()
    return {match[1]: line for line in lines if (match := re.match(r"\| `([^`]+)` \|", line))}


def test_every_row_is_whole() -> None:
    """Every row has what, value, unit, spread and mark, and a published one a source in the bibliography."""
    report = check()
    assert report.faults == ()
    assert report.rows == len(rows()) > 0


def test_a_row_without_a_spread_is_caught() -> None:
    """The check is not blind."""
    table = {"t": {"x": {"what": "a thing", "value": 2.0, "unit": "g", "mark": "memory"}}}
    assert any("spread" in fault.what for fault in check_tables(table, {}).faults)


def test_every_row_is_read_somewhere(names: Names) -> None:
    """No row is dead: code reads it, or it stands on the list of those that wait."""
    assert [n for n in rows() if not names.have(n) and n not in _waiting()] == []


def test_a_row_that_nobody_reads_is_caught(names: Names) -> None:
    """The search is not so loose that any name passes."""
    assert not names.have("binding.never_read_by_anything")
    assert not names.have("materials.plum-gum.never_read_by_anything")
    assert not names.have("nowhere.at_all")


@pytest.mark.parametrize("name", sorted(_waiting()))
def test_a_waiting_row_waits_in_the_open(name: str, names: Names) -> None:
    """A row on the page's list exists, is truly not read yet, and is shown as it stands in its table."""
    row, line = rows()[name], _waiting()[name]
    assert not names.have(name), "it is read now: take it off the list"
    assert f"| {row.what} | {row.value:g} ± {row.spread:g}" in line
    assert line.endswith(f"| {row.mark} |")
