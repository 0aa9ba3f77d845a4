"""The reference page of entries tells the whole schema, and its examples are one sound book."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from inkhorn.daybook.entries import SCHEMA
from inkhorn.daybook.readings import FORMS
from inkhorn.daybook.schema import COMMON, KINDS
from inkhorn.daybook.words import scale
from support.book_builder import Bench

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "entries.md"
TEXT = PAGE.read_text("utf-8")


def section(title: str, level: int = 3) -> str:
    """Return the text under a heading."""
    found = re.search(
        rf"^{'#' * level} {re.escape(title)}\n(.*?)(?=^#{{2,{level}}} |\Z)", TEXT, re.MULTILINE | re.DOTALL
    )
    assert found, f"no section {title}"
    return found[1]


def examples() -> list[dict]:
    """Return every example of the page in its order."""
    blocks = re.findall(r"```json\n(.*?)```", TEXT, re.DOTALL)
    return [json.loads(line) for block in blocks for line in block.strip().splitlines()]


@pytest.mark.parametrize("name", sorted(KINDS))
def test_every_kind_and_key_is_told(name: str) -> None:
    """Each kind has a section with a row for each of its keys, and an example of it."""
    text = section(name)
    rows = dict(re.findall(r"^\| `(\w+)` \| [\w ]* ?\| (.*) \|$", text, re.MULTILINE))
    assert rows == {key.name: key.says for key in KINDS[name].keys}
    assert any(example["kind"] == name for example in examples())


def test_common_keys_are_told() -> None:
    """The keys that every entry has are told once."""
    text = section("Keys of every entry", 2)
    for key in COMMON:
        assert f"| `{key.name}` |" in text


@pytest.mark.parametrize("sort", sorted(FORMS))
def test_every_reading_is_told(sort: str) -> None:
    """Each thing that may be read has a row, with the words of its scale."""
    text = section(f"of an {sort}" if sort == "exemplar" else f"of a {sort}")
    for what, form in FORMS[sort].items():
        row = re.search(rf"^\| `{what}` \| (.*)$", text, re.MULTILINE)
        assert row
        if form.sort == "word":
            assert ", ".join(scale(form.words).words) in row[1]


def test_the_schema_version_is_told() -> None:
    """The page names the version it describes."""
    assert f"Schema version: **{SCHEMA}**" in TEXT


def test_no_key_of_no_kind() -> None:
    """The page tells no kind that is not there."""
    titles = re.findall(r"^### (.*)$", section("Kinds", 2), re.MULTILINE)
    assert set(titles) == set(KINDS)


def test_the_examples_are_one_sound_book() -> None:
    """All examples, in order of time and with the amendments last, are recorded without a fault."""
    bench = Bench()
    told = sorted(examples(), key=lambda raw: (raw["kind"] in ("amend", "void"), raw["at"]))
    for raw in told:
        bench.record(raw["at"], raw["kind"], **{k: v for k, v in raw.items() if k not in ("at", "kind")})
    assert len(bench.book) == len(told)
    assert bench.standing
