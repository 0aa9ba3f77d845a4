"""Adjectives of a scale with every degree before them: "a shade too dark", "far paler", "not brown enough"."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from typing import Any

from inkhorn.sentences.tokens import folded

Said = tuple[tuple[str, ...], str, str]

#: How far "not … enough" falls short, by the word that is in it.
_SHORT = (("nearly", "much"), ("near", "much"), ("nothing", "much"), ("quite", "small"))


def degrees(table: Mapping[str, Any]) -> Iterator[Said]:
    """Yield every phrase of a table of adjectives, the word of a scale that it means, and its degree.

    Parameters
    ----------
    table : mapping
        ``degree``: lists of words by how much; ``adjective``: what each comes to.

    Yields
    ------
    tuple
        Phrase as folded words, meaning ("depth:a little dark"; with a "?" where it is yet to be settled), "small", "much" or "".
    """
    degree, adjectives = table["degree"], table["adjective"]
    for adjective in adjectives.values():
        for word in adjective["words"]:
            yield from _one(word, adjective, degree, adjectives.get(adjective.get("against", "")))
        for more in adjective["more"]:
            yield from _more(more, adjective, degree)


@functools.cache
def _folded(text: str) -> tuple[str, ...]:
    return folded(text)


def _phrase(*parts: str) -> tuple[str, ...]:
    """Return parts as the folded words of one phrase."""
    return tuple(word for part in parts for word in _folded(part))


def _one(
    word: str, adjective: Mapping[str, Any], degree: Mapping[str, Any], other: Mapping[str, Any] | None
) -> Iterator[Said]:
    yield _phrase("too", word), adjective["too"], ""
    for how in degree["small"]:
        yield _phrase(how, "too", word), adjective["small"], "small"
        yield _phrase(how, "to", word), adjective["small"], "small"
    for how in degree["much"]:
        yield _phrase(how, "too", word), adjective["much"], "much"
        yield _phrase(how, "to", word), adjective["much"], "much"
    for how in degree["plain"]:
        yield _phrase(how, "too", word), adjective["too"], ""
    if word in adjective["alone"]:
        yield _phrase(word), adjective["bare"], ""
        yield _phrase("on the", word, "side"), adjective["small"], "small"
        for how in degree["plain"]:
            yield _phrase(how, word), adjective["bare"], ""
        for how in degree["small"]:
            yield _phrase(how, word), adjective["small"], "small"
            yield _phrase(how, "on the", word, "side"), adjective["small"], "small"
    if other is None:
        return
    for no in degree["not"]:
        far = next((how for part, how in _SHORT if part in no.split()), "")
        yield _phrase(no, word, "enough"), other[far or "too"], far
        if "than" in adjective and adjective["than"].startswith("than:") and no == "not":
            for so in ("almost as", "nearly as", "not quite as", "almost so"):
                yield _phrase(so, word), other["than"], "small"
        if "than" in adjective and adjective["than"].startswith("than:") and not far:
            for so in ("as", "so", "nearly as", "quite as", "anywhere near as"):
                yield _phrase(no, so, word), other["than"], ""


def _more(more: str, adjective: Mapping[str, Any], degree: Mapping[str, Any]) -> Iterator[Said]:
    than = adjective["than"]
    graded = {"small": adjective["small"], "much": adjective["much"]} if than.startswith("hue:") else {}
    yield _phrase(more), than, ""
    for how in degree["plain"]:
        yield _phrase(how, more), than, ""
    for size in ("small", "much"):
        for how in degree[size]:
            yield _phrase(how, more), graded.get(size, than), size
