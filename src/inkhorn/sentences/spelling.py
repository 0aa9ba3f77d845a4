"""A word that is nearly a known one; how it was read is told, and a yes is asked."""

from __future__ import annotations

from collections.abc import Mapping

from inkhorn.sentences.lexicon import Word

_SHORTEST = 5
_TYPES = frozenset(
    {
        "VERB",
        "LOT",
        "MATERIAL",
        "VESSEL",
        "LIQUID",
        "SUPPORT",
        "PEN",
        "WHAT",
        "SCALE",
        "INSTRUMENT",
        "METHOD",
        "MEND",
        "SKIN",
        "CUT",
    }
)


def nearest(text: str, *books: Mapping[tuple[str, ...], Word]) -> tuple[str, Word] | None:
    """Return the known word that a misspelt one stands for, and what that means; None where it is far from all."""
    if len(text) < _SHORTEST:
        return None
    best: tuple[int, str, Word] | None = None
    for book in books:
        for key, word in book.items():
            if len(key) != 1 or word.type not in _TYPES or len(key[0]) < _SHORTEST - 1:
                continue
            known = key[0]
            if abs(len(known) - len(text)) > 1 or known[0] != text[0]:
                continue
            apart = distance(known, text)
            if (
                apart == 1
                and (best is None or known < best[1])
                and not (known + "s" == text or known == text + "s")
            ):
                best = (apart, known, word)
    return (best[1], best[2]) if best else None


def distance(one: str, other: str) -> int:
    """Return how many letters are to be put in, left out, changed or swapped to make one of the other.

    Optimal string alignment (Damerau 1964).
    """
    before: list[int] = []
    line = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        earlier, before, line = before, line, [i] + [0] * len(other)
        for j, b in enumerate(other, 1):
            line[j] = min(before[j] + 1, line[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                line[j] = min(line[j], earlier[j - 2] + 1)
    return line[-1]
