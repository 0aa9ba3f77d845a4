"""The reference pages name every command, option, schema and key that there is, and none that there is not."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click
import pytest

from inkhorn.cli.main import COMMANDS, command_of
from support.answers import names, schema

DOCS = Path(__file__).parents[3] / "docs" / "reference"


def _sections(page: str) -> dict[str, str]:
    """Return the text under each heading of a page."""
    parts = re.split(r"^## ", (DOCS / page).read_text("utf-8"), flags=re.MULTILINE)[1:]
    return {part.splitlines()[0]: part for part in parts}


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_and_option_is_described(name: str) -> None:
    """A command's section names its options, and no option it does not have."""
    section = next(
        (text for head, text in _sections("commands.md").items() if f"`inkhorn {name}" in head), ""
    )
    assert section, f"no section for {name}"
    options = {o for p in command_of(name).params if isinstance(p, click.Option) for o in p.opts}
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", section))
    assert named == options


def test_no_command_is_described_that_there_is_not() -> None:
    """Each section of the page is a command."""
    heads = {re.sub(r"`inkhorn (\w+).*", r"\1", head) for head in _sections("commands.md")}
    assert heads == set(COMMANDS)


def _keys(node: Any) -> set[str]:
    """Return every key that a schema describes, but those of figures."""
    if isinstance(node, list):
        return {key for item in node for key in _keys(item)}
    if not isinstance(node, dict):
        return set()
    own = set(node.get("properties", ()))
    own = set() if "p05" in own else own
    return own | {key for name, value in node.items() if name != "figure" for key in _keys(value)}


@pytest.mark.parametrize("name", names())
def test_every_schema_and_key_is_described(name: str) -> None:
    """The page of answers names each shipped schema and every key in it."""
    text = (DOCS / "answers.md").read_text("utf-8")
    assert f"`{name}.json`" in text
    words = set(re.findall(r"[A-Za-z_]\w*", text))
    assert _keys(schema(name)) - words == set()
