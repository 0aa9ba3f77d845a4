"""Numbers among the words, in figures and spelt out: "1,5", "two and a half", "one point oh four", "a couple of"."""

from __future__ import annotations

from collections.abc import Sequence

from inkhorn.sentences.tokens import Raw

SMALL = {
    word: number
    for number, word in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
         "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
    )
}  # fmt: skip
TENS = {
    word: 10 * number
    for number, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2
    )
}
SHARES = {
    "half": (1, 2), "third": (1, 3), "quarter": (1, 4), "fifth": (1, 5), "sixth": (1, 6), "seventh": (1, 7),
    "eighth": (1, 8), "ninth": (1, 9), "tenth": (1, 10), "halve": (1, 2),
}  # fmt: skip
ARTICLES = frozenset({"a", "an", "one"})
_BEFORE_ONE = frozenset(
    {"other", "this", "that", "last", "first", "next", "same", "each", "every", "which", "big", "small", "old", "new", "dark", "latter", "former"}
)  # fmt: skip
_NOUGHT = frozenset({"oh", "o", "nought", "naught", "zero"})


def number(words: Sequence[Raw], at: int) -> tuple[float, str, int] | None:
    """Return the number that stands at a place: its value, how it is written plainly, the place after it."""
    if at >= len(words):
        return None
    word = words[at]
    if word.sort == "glyph":
        above, _, below = word.text.partition("/")
        return int(above) / int(below), word.text, at + 1
    if word.sort == "number":
        return _figures(words, at)
    if word.text == "one" and at and words[at - 1].text in _BEFORE_ONE:
        return None  # "the other one" counts nothing
    if word.text == "point":
        return _point(words, at, 0)
    if word.text in ARTICLES and at + 1 < len(words) and words[at + 1].text == "dozen":
        return 12, "12", at + 2
    if word.text == "dozen" and not (at and words[at - 1].sort in ("number", "glyph")):
        return 12, "12", at + 1
    if word.text == "a" and [w.text for w in words[at + 1 : at + 3]] == ["couple", "of"]:
        return 2, "2", at + 3
    if word.text in ("hundred", "thousand") and not (at and words[at - 1].sort in ("number", "glyph")):
        return _and_a_half(words, at + 1, 100 if word.text == "hundred" else 1000)
    if word.text in SMALL or word.text in TENS or (
        word.text in ARTICLES and at + 1 < len(words) and words[at + 1].text == "hundred"
    ):  # fmt: skip
        value, end = _spelt(words, at)
        if end < len(words) and words[end].text == "point":
            return _point(words, end, value)  # None where no figure follows: it was not said out
        return _and_a_half(words, end, value)
    return None


def _point(words: Sequence[Raw], end: int, value: float) -> tuple[float, str, int] | None:
    """Read the "point oh four" of "one point oh four"."""
    if end >= len(words) or words[end].text != "point":
        return None
    digits, step = "", end + 1
    while step < len(words) and (
        words[step].text in _NOUGHT or SMALL.get(words[step].text, len(SMALL)) in range(10)
    ):
        digits += "0" if words[step].text in _NOUGHT else str(SMALL[words[step].text])
        step += 1
    if not digits:
        if step < len(words) and words[step].sort == "number" and words[step].text.isdigit():
            digits, step = words[step].text, step + 1
        elif step < len(words) and words[step].text in TENS:
            more, step = _spelt(words, step)  # "one point twenty five"
            digits = f"{more:g}"
        else:
            return None
    text = f"{value:g}.{digits}"
    return float(text), text, step


def _figures(words: Sequence[Raw], at: int) -> tuple[float, str, int]:
    text, end = words[at].text, at + 1
    plain = text.replace(",", ".")
    plain = f"0{plain}" if plain.startswith(".") else plain
    if end < len(words) and words[end].sort == "glyph":
        return _mixed(float(plain), words[end].text, end + 1)
    if (
        end + 1 < len(words)
        and words[end].text == "/"
        and words[end].glued
        and words[end + 1].sort == "number"
    ):
        after = end + 2
        if (
            after < len(words)
            and words[after].text in ("rd", "th", "rds", "ths", "nd")
            and words[after].glued
        ):
            after += 1
        return float(plain) / max(float(words[end + 1].text), 1e-9), f"{plain}/{words[end + 1].text}", after
    if (
        end + 2 < len(words) and words[end].sort == "number" and words[end + 1].text == "/" and words[end + 1].glued
        and words[end + 2].sort == "number" and words[end].text.isdigit() and words[end + 2].text.strip("0").isdigit()
    ):  # fmt: skip
        return _mixed(float(plain), f"{words[end].text}/{words[end + 2].text}", end + 3)
    if "," in text and len(text.partition(",")[2]) == 3:
        return float(plain), text, end  # thousands or a decimal: `read_quantity` asks
    return _and_a_half(words, end, float(plain), plain)


def _mixed(whole: float, part: str, end: int) -> tuple[float, str, int]:
    above, _, below = part.partition("/")
    return whole + int(above) / int(below), f"{whole:g} {part}", end


def _and_a_half(words: Sequence[Raw], end: int, value: float, plain: str = "") -> tuple[float, str, int]:
    """Read "two and a half"; a share after a unit is read with the unit."""
    if end + 1 < len(words) and words[end].text == "and":
        step = end + 2 if words[end + 1].text in ARTICLES else end + 1
        if step < len(words) and words[step].text in ("half", "quarter", "third"):
            above, below = SHARES[words[step].text]
            more = value + above / below
            return more, f"{more:.6g}", step + 1
        if step + 1 < len(words) and words[step].text == "three" and words[step + 1].text == "quarters":
            return value + 3 / 4, f"{value + 3 / 4:.6g}", step + 2
    return value, plain or f"{value:g}", end


def _spelt(words: Sequence[Raw], at: int) -> tuple[float, int]:
    value, whole, end = 0.0, 0.0, at
    while end < len(words):
        word = words[end].text
        if word in TENS and (end == at or words[end - 1].text in ("hundred", "and", "thousand")):
            value += TENS[word]
        elif word in SMALL and (end == at or words[end - 1].text in (*TENS, "hundred", "and", "thousand")):
            value += SMALL[word]
        elif word in ARTICLES and end == at:
            value += 1
        elif word == "hundred" and value:
            value *= 100
        elif word == "thousand" and value:
            whole, value = whole + value * 1000, 0.0
        elif (
            word == "and"
            and end + 1 < len(words)
            and words[end - 1].text in ("hundred", "thousand")
            and (words[end + 1].text in TENS or words[end + 1].text in SMALL)
        ):
            pass
        else:
            break
        end += 1
    return whole + value, end
