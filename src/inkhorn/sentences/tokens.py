"""What a sentence is made of: words as they stand, and the typed tokens that the grammar reads."""

from __future__ import annotations

import functools
import re
import unicodedata
from typing import Any

import attrs

from inkhorn.units import GLYPHS, fold

_WORD = re.compile(
    r"(?P<file>[\w/-]+(?:\.[\w-]+)*\.(?:jpe?g|png|tiff?|heic|dng|webp|cr2|nef|arw))\b"
    r"|(?P<conc>(?:m?g|mmol|mol|kg)/(?:m?l|dl|100 ?ml|cm3)\b|mpa ?[.·]?s\b)"
    r"|(?P<short>'s\b)"
    r"|(?P<number>(?<![\w.,])[.,]\d+|\d+(?:[.,]\d+)?)"
    r"|(?P<word>[^\W\d_]+(?:\.[^\W\d_]\.)*)"
    r"|(?P<mark>[-=~]+>+|>>+|→|↦|⇒|➔|➜|\.\.\.|…|\+/-|[°±~<>%&+/:;,.!?()\"=*-])"
)
_SHORT = {
    "'s": "'s", "'re": "are", "'ve": "have", "'ll": "will", "'m": "am", "'d": "would",
}  # fmt: skip
_NOT = {
    "won't": ("will", "not"),
    "can't": ("can", "not"),
    "shan't": ("shall", "not"),
    "cannot": ("can", "not"),
}


@attrs.frozen
class Raw:
    """One word, number or mark, where it stands, and whether it follows the one before without a space."""

    text: str
    start: int
    end: int
    glued: bool = False
    sort: str = "word"


@attrs.frozen(kw_only=True)
class Qty:
    """An amount as `read_quantity` reads it: its text, dimension, bare figure and hedge."""

    text: str
    dimension: str
    figure: str = ""
    hedge: str = ""
    unit: str = ""

    def bare(self, unit: str = "") -> str:
        """Return the figure with its hedge, in another unit or none."""
        return " ".join(part for part in (self.hedge, self.figure, unit) if part)


@attrs.frozen(kw_only=True)
class Token:
    """One typed token.

    Parameters
    ----------
    type : str
        Terminal of the grammar.
    value : str
        What it means: the class of a verb, the word of a scale, a name.
    start, end : int
        Where it stands in the sentence.
    names : tuple of str
        What a name may mean, where it is not settled.
    tense : str
        Of a verb: "order", "past" or "doing".
    qty : Qty, optional
        Of an amount.
    data : Any
        Of a moment: what the clock made of it.
    guess : str
        How it was read where that was guessed (a misspelling).
    """

    type: str
    value: str
    start: int
    end: int
    names: tuple[str, ...] = ()
    tense: str = ""
    qty: Qty | None = None
    data: Any = None
    guess: str = ""


def lowered(said: str) -> str:
    """Return a sentence in lower case, every character in its place."""
    folded = said.casefold()
    return folded if len(folded) == len(said) else said.lower()


def raws(said: str) -> tuple[Raw, ...]:
    """Return the words, numbers and marks of a sentence; short forms are spelt out, hyphens part words."""
    text = lowered(said)
    text = (
        text.replace("l*a*b*", "lab   ")
        .replace("’", "'")
        .replace("‘", "'")
        .replace("–", "-")
        .replace("—", ";")
        .replace("−", "-")
    )
    text = re.sub(r"(?<![\w])t'(?= ?[a-z])", "  ", text)  # "t'jar", as it is said in the north
    out: list[Raw] = []
    at = 0
    while at < len(text):
        glyph = GLYPHS.get(text[at])
        if glyph:
            out.append(Raw(glyph, at, at + 1, _glued(out, at), "glyph"))
            at += 1
            continue
        found = _WORD.match(text, at)
        if not found:
            if unicodedata.category(text[at]) in ("Sm", "Sc", "Sk", "No") or text[at] in "#@\\|_{}[]":
                out.append(
                    Raw(text[at], at, at + 1, _glued(out, at), "mark")
                )  # it may mean something: "2 × 5 g"
            at += 1
            continue
        at = _take(text, found, out)
    return tuple(out)


def _take(text: str, found: re.Match[str], out: list[Raw]) -> int:
    start, end = found.span()
    sort = str(found.lastgroup)
    if sort == "word":
        tail = re.match(r"n't\b|'(?:s|re|ve|ll|m|d)\b|'", text[end:]) if not found[0].endswith("n") else None
        whole = re.match(r"[a-z]+n't\b|cannot\b", text[start:])
        if whole:
            word = whole[0]
            first, second = _NOT.get(word, (word.removesuffix("n't"), "not"))
            out.append(Raw(first, start, start + len(word), _glued(out, start)))
            out.append(Raw(second, start, start + len(word), glued=True))
            return start + len(word)
        tail = re.match(r"'(?:s|re|ve|ll|m|d)\b", text[end:])
        out.append(Raw(found[0], start, end, _glued(out, start)))
        if tail:
            out.append(Raw(_SHORT[tail[0]], end, end + len(tail[0]), glued=True))
            return end + len(tail[0])
        return end
    if sort == "mark" and found[0] == "-" and _inside_word(text, start):
        return end  # the hyphen of a word
    out.append(Raw(re.sub(r"\s+", " ", found[0]), start, end, _glued(out, start), sort))
    return end


def _inside_word(text: str, at: int) -> bool:
    before, after = text[at - 1 : at], text[at + 1 : at + 2]
    return (before.isalnum() and after.isalnum()) and not (
        before.isdigit() and after.isdigit() and not _named(text, at)
    )


def _named(text: str, at: int) -> bool:
    """Return whether the run of signs before a hyphen begins with a letter, as a name does."""
    run = re.search(r"[\w-]*$", text[:at])
    return bool(run and run[0][:1].isalpha())


def _glued(out: list[Raw], at: int) -> bool:
    return bool(out) and at - out[-1].end <= 1 and out[-1].end == at


@functools.lru_cache(maxsize=1 << 14)
def folded(text: str) -> tuple[str, ...]:
    """Return a phrase as the words that `raws` would make of it, without plurals."""
    return tuple(fold(raw.text) or raw.text for raw in raws(text))
