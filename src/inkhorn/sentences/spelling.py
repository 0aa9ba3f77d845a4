"""A word that is nearly a known one; how it was read is told, and a yes is asked."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence

from inkhorn.sentences.days import MEALS, MONTHS, PARTS, SHORT_DAYS, SHORT_MONTHS, WEEK
from inkhorn.sentences.lexicon import Phrases, table, vocabulary
from inkhorn.sentences.measuring import vocabulary_of_measures
from inkhorn.sentences.numbers import SHARES, SMALL, TENS
from inkhorn.sentences.tokens import Raw
from inkhorn.units import fold

#: The shortest words in which a slip is looked for: letters that changed places; one more, less or other; two of those.
_SWAPPED, _ONE_OFF, _TWO_OFF = 3, 5, 8  # numbers-in-code: lengths of words
#: The shortest words in which a letter may be wanting, or written twice.
_SHORT = 4  # numbers-in-code: length of a word


def mended(words: Sequence[Raw], names: Phrases) -> Mapping[int, str]:
    """Return how misspelt words are to be read, by where they begin.

    Parameters
    ----------
    words : sequence of Raw
        The words of a sentence.
    names : dict
        What the things of the bench are called.
    """
    odd = [w for w in words if w.sort == "word" and w.text.isalpha() and len(w.text) >= _SWAPPED]
    odd = [w for w in odd if not _known(w.text)]
    if not odd:
        return {}
    mine = _words_of(names)
    right: dict[int, str] = {}
    for word in odd:
        if word.text in mine or fold(word.text) in mine:
            continue
        found = nearest(word.text, mine)
        if found is not None:
            right[word.start] = found
    return right


def nearest(text: str, names: frozenset[str]) -> str | None:
    """Return the known word that a misspelt one stands for, or None where it is far from all.

    Parameters
    ----------
    text : str
        The word as it stands.
    names : frozenset of str
        The words of names of the bench.
    """
    two = len(text) >= _TWO_OFF
    near = {word for key in _shorter(text, 2 if two else 1) for word in _index().get(key, ())}
    near |= {word for word in names if abs(len(word) - len(text)) <= 1 + two}
    scored = [(rank, word) for word in near if (rank := _rank(text, word, name=word in names)) is not None]
    return min(scored)[1] if scored else None


def _rank(text: str, word: str, *, name: bool) -> tuple[int, ...] | None:
    """Return how far a word is from what stands there, or None where it is too far: slips, their sort, names first."""
    if len(word) < _SWAPPED or word + "s" == text or text + "s" == word:
        return None
    apart = distance(text, word)
    if apart == 0 or apart > (2 if min(len(text), len(word)) >= _TWO_OFF else 1):
        return None
    same = sorted(text) == sorted(word)  # letters that changed places
    doubled = _once(text) == _once(word)
    first = text[0] == word[0]
    if len(text) < _ONE_OFF and not (
        same or (first and len(text) >= _SHORT and (doubled or len(word) > len(text)))
    ):
        return None
    if not first and not (same or (apart == 1 and len(text) > _ONE_OFF and len(text) != len(word))):
        return None
    if apart > 1 and not first:
        return None
    sort = 0 if same or doubled else 1 if len(text) != len(word) else 2
    sort = 0 if sort == 1 and text[-1] == word[-1] == "d" else sort  # "simmerd": the vowel of an ending
    return apart, sort, 0 if first else 1, 0 if text[-1] == word[-1] else 1, 0 if name else 1


def _once(text: str) -> str:
    """Return a word with every doubled letter written once."""
    return "".join(a for a, b in zip(text, " " + text, strict=False) if a != b)


# ---------------------------------------------------------------- what is known


def _known(text: str) -> bool:
    return text in _all() or fold(text) in _all() or text in _english()


@functools.cache
def _english() -> frozenset[str]:
    return frozenset(table("english")["words"].split())


@functools.cache
def _all() -> frozenset[str]:
    """Return every single word that is read, whatever stands on the bench."""
    out = {word for key in vocabulary() for word in key}
    for phrases in vocabulary_of_measures().values():
        out |= {word for key in phrases for word in key}
    out |= {
        *WEEK,
        *PARTS,
        *MONTHS,
        *SHORT_DAYS,
        *SHORT_MONTHS,
        *SMALL,
        *TENS,
        *SHARES,
        *(word for key in MEALS for word in key),
    }
    out |= {
        "hundred",
        "thousand",
        "dozen",
        "couple",
        "noon",
        "midday",
        "midnight",
        "yesterday",
        "tomorrow",
        "today",
        "quarter",
        "past",
    }
    return frozenset(out)


def _words_of(names: Phrases) -> frozenset[str]:
    words = {word for key in names for word in key if word.isalpha() and len(word) >= _SWAPPED}
    return frozenset(words | {word + "s" for word in words if not word.endswith("s")})


@functools.cache
def _index() -> Mapping[str, tuple[str, ...]]:
    """Return the known words by what is left of them when a letter or two are taken out."""
    out: dict[str, list[str]] = {}
    words = {word for word in _all() if word.isalpha() and len(word) >= _SWAPPED}
    words |= {word + "s" for word in words if len(word) >= _SHORT and not word.endswith("s")}
    for word in words:
        for key in _shorter(word, 2 if len(word) >= _TWO_OFF else 1):
            out.setdefault(key, []).append(word)
    return {key: tuple(words) for key, words in out.items()}


def _shorter(text: str, many: int) -> Iterator[str]:
    """Yield a word, and what is left of it without a letter, or without two."""
    yield text
    now = {text}
    for _ in range(many):
        now = {word[:n] + word[n + 1 :] for word in now for n in range(len(word))}
        yield from now


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
