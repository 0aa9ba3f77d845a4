"""Words a maker may use: ordered scales and plain choices, read from the handbook."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Mapping
from types import MappingProxyType

import attrs

from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group, row
from inkhorn.handbook.rows import Row
from inkhorn.units import fold


@attrs.frozen(kw_only=True)
class Scale:
    """A set of words; ``ordered`` from one end to the other, with cut points where the handbook has them.

    ``cuts[i]`` is the boundary between ``words[i]`` and ``words[i + 1]`` on the
    scale that the table describes; ``blur`` is how unsurely one person says it.
    """

    name: str
    words: tuple[str, ...]
    ordered: bool
    also: Mapping[str, str]
    cuts: tuple[Row, ...]
    blur: Row | None

    def rank(self, word: str) -> int:
        """Return the place of a word on the scale, counted from 0."""
        return self.words.index(word)


@functools.cache
def scale(name: str) -> Scale:
    """Return a scale or choice of ``words.toml`` by name: "body", "depth", "side", ..."""
    node = group("words")[name]
    words = tuple(node.get("order", node.get("choices", ())))
    cuts = tuple(row(f"words.{name}.cut.{i}") for i in range(1, len(words)) if str(i) in node.get("cut", {}))
    return Scale(
        name=name,
        words=words,
        ordered="order" in node,
        also=MappingProxyType(dict(node.get("also", {}))),
        cuts=cuts,
        blur=row(f"words.{name}.blur") if "blur" in node else None,
    )


def resolve_word(text: str, name: str, where: str = "") -> str:
    """Return a word of a scale as the handbook writes it; raise `UnknownNameError` naming the nearest."""
    chosen = scale(name)
    by_fold = {fold(word): word for word in chosen.words} | {fold(k): v for k, v in chosen.also.items()}
    word = by_fold.get(fold(text))
    if word is None:
        near = difflib.get_close_matches(fold(text), by_fold, n=1)
        choices = ", ".join(chosen.words)
        mend = f"The nearest is {near[0]}; the words are {choices}" if near else f"The words are {choices}"
        raise UnknownNameError(f"{text!r} is no word of {name}", where=where, mend=mend)
    return word
