"""A shared-out difference as one plain sentence."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from inkhorn.compare.shares import Shares
from inkhorn.handbook.load import value

_NAMES = {
    "wear": "wear",
    "skin": "the skin",
    "pen": "pen and hand",
    "camera": "the camera",
    "age": "age",
    "ink": "ink",
}
_PLURAL = "pen"
# numbers-in-code: what the words mean
# Fractions that are said as words, with the words; the nearest on a scale of ratios is taken.
_WORDS = (
    (1 / 20, "a twentieth"),
    (1 / 10, "a tenth"),
    (1 / 5, "a fifth"),
    (1 / 4, "a quarter"),
    (1 / 3, "a third"),
    (2 / 5, "two fifths"),
    (1 / 2, "half"),
    (3 / 5, "three fifths"),
    (2 / 3, "two thirds"),
    (3 / 4, "three quarters"),
    (6 / 7, "most"),
    (1, "nearly all"),
)


def fraction_word(fraction: float) -> str:
    """Return the nearest fraction that people say: 0.23 is "a quarter"."""
    return min(_WORDS, key=lambda pair: abs(np.log(max(fraction, 1e-3) / pair[0])))[1]


def sentence(shares: Shares, *, tolerance: float = 0) -> str:
    """Return the whole difference in one or two plain sentences.

    ``tolerance`` is how far the original's own letters differ from one another (CIEDE2000): an ink
    that is off by no more is said to lie within that.

    "Of the great difference you see, about half is wear, a fifth the skin, and a
    quarter is ink: the ink is a little too pale."
    """
    whole = float(np.median(shares.total))
    seen = shares.ink_size >= value("compare.words.same")
    end = " The page's own letters differ by as much." if seen and shares.ink_size <= tolerance else ""
    if whole < value("compare.words.same"):
        return f"You would not tell the two apart. {_capital(ink_words(shares))}.{end}"
    parts = {name: shares.fraction(name) for name in shares.parts}
    hidden = value("compare.words.hidden")
    hiding = [name for name, part in parts.items() if part <= -hidden]
    known = not seen or abs(parts["ink"]) >= value("compare.words.negligible")
    link = ": " if known else "; yet whole and on the same skin "
    tail = ", which hides part of the rest" if "ink" in hiding else ""
    said = f"{_listed(_said(parts))}{link}{ink_words(shares)}{tail}"
    head = f"Of the {size_word(whole)} difference you see, {said}."
    others = [name for name in hiding if name != "ink"]
    return f"{head} {_hiding(others, also=len(others) < len(hiding))}".strip() + end


def size_word(difference: float) -> str:
    """Return how large a difference (CIEDE2000) is to the eye: "small", "plain" or "great"."""
    if difference < value("compare.words.little"):
        return "small"
    return "plain" if difference < value("compare.words.plain") else "great"


def _said(parts: Mapping[str, float]) -> list[str]:
    """Return what each cause is worth in words, the greatest first and the ink last.

    Where some causes work against others the words are parts of what works one way.
    """
    least = value("compare.words.negligible")
    one_way = max(1, sum(f for f in parts.values() if f > 0))
    named = sorted((n for n in parts if parts[n] >= least and n != "ink"), key=lambda n: -parts[n])
    said = []
    for i, name in enumerate(named):
        word = fraction_word(parts[name] / one_way)
        said.append(f"{word} is {_NAMES[name]}" if i == 0 else f"{word} {_NAMES[name]}")
    if parts["ink"] >= least:
        said.append(f"{fraction_word(parts['ink'] / one_way)} is ink")
    elif parts["ink"] > -least:
        said.append("hardly any is ink")
    if said and not said[0].startswith(("most", "nearly", "hardly")):
        said[0] = f"about {said[0]}"
    return said


def _hiding(names: list[str], *, also: bool) -> str:
    if not names:
        return ""
    text = _listed([_NAMES[n] for n in names])
    verb = "hide" if len(names) > 1 or names == [_PLURAL] else "hides"
    return f"{_capital(text)} {verb} {'part of it too' if also else 'part of the rest'}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def ink_words(shares: Shares) -> str:
    """Return what is different about the ink itself: "the ink is a little too pale and too brown"."""
    size = shares.ink_size
    if size < value("compare.words.same"):
        return "the ink itself is the same to the eye"
    words = _directions(shares.ink_middle)
    how = "a little " if size < value("compare.words.little") else ""
    how = "far " if size >= value("compare.words.plain") else how
    return f"the ink is {'perhaps ' if _unsure(shares) else ''}{how}{_listed(words)}"


def _directions(shift: np.ndarray) -> list[str]:
    lightness, red, yellow = (float(v) for v in shift)
    least = value("compare.words.hue")
    words = []
    if abs(lightness) >= least or abs(lightness) >= max(abs(red), abs(yellow)):
        words.append("too pale" if lightness > 0 else "too dark")
    if abs(yellow) >= least and abs(yellow) >= abs(red):
        words.append("too brown" if yellow > 0 else "too blue")
    elif abs(red) >= least:
        words.append("too purple" if red > 0 else "too green")
    if not words:
        words.append("too brown" if yellow > 0 else "too blue")
    return words


def _unsure(shares: Shares) -> bool:
    """Return whether more than a tenth of the draws have the ink on the other side in its main direction."""
    middle = shares.ink_middle
    axis = int(np.argmax(np.abs(middle)))
    return bool(np.mean(np.sign(shares.ink_shift[:, axis]) != np.sign(middle[axis])) * 10 > 1)


def _listed(words: list[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return (
        f"{', '.join(words[:-1])} and {words[-1]}"
        if len(words) == 2
        else f"{', '.join(words[:-1])}, and {words[-1]}"
    )
