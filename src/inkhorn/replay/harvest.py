"""What the season, the age and the state of a gathered plant say of it before it is ever steeped.

The words of a `gather` entry (part, age, source, note) shift what is expected
of its tannin by the factors of the handbook, and widen it by theirs; a plant
said to be fresh is expected to hold the water of its kind of tissue.
"""

from __future__ import annotations

import functools
import math
import re

import attrs

from inkhorn.daybook.entries import Gather
from inkhorn.handbook.load import group, row
from inkhorn.handbook.rows import Row

_BARK = ("bark", "wood")
#: Words, the forms of plant they speak of, and the factor they stand for; of each line the first that is met counts.
_SAID = (
    (r"spring|april|may\b|june|sap[- ]?(rise|flow)", _BARK, "spring"),
    (r"autumn|fall\b|winter|october|november|december|january", _BARK, "autumn"),
    (r"coppice|young|smooth|sapling|shoots?|twigs?|saplings", ("bark",), "young"),
    (r"\bold|rough|trunk|rugged", ("bark",), "old"),
    (r"\binner", ("bark",), "inner"),
    (r"closed|green|blue|unholed|unhatched|without holes", ("gall",), "green_gall"),
    (r"white|pale|\bholed|hatched|with holes|exit hole", ("gall",), "white_gall"),
    (r"rained on|rain[- ]washed|rotten|rotting|damp[- ]stored|fallen|weathered", (), "weathered"),
)
#: Of two lines that speak of one thing, the first excludes the second.
_RIVALS = {"autumn": "spring", "old": "young", "white_gall": "green_gall"}
_FRESH = re.compile(r"\bfresh|just (cut|picked|stripped|peeled)|\bgreen (bark|leaf|leaves|wood)")
_DRIED = re.compile(r"\b(air[- ]?)?dr(y|ied)\b|seasoned")


def said_of(entry: Gather) -> str:
    """Return all that a gather entry says of how the plant was, in small letters."""
    parts = (entry.part, entry.age, entry.source, entry.note)
    return " ".join(p for p in parts if p).casefold()


def factors(entry: Gather, form: str) -> tuple[str, ...]:
    """Return the names of the handbook's factors that the words of a gather entry stand for."""
    text = said_of(entry)
    met = [key for words, forms, key in _SAID if (not forms or form in forms) and re.search(words, text)]
    return tuple(key for key in met if _RIVALS.get(key) not in met)


def freshness(entry: Gather) -> bool | None:
    """Return whether a plant was gathered fresh (True) or dry (False), or None where nobody said."""
    text = said_of(entry)
    if _DRIED.search(text):
        return False
    return True if _FRESH.search(text) else None


def tannin_prior(entry: Gather, form: str) -> Row:
    """Return what is expected of a plant lot's tannin, given how it was gathered.

    The factors multiply the middle of the handbook's row; their spreads (on
    the logarithm) add to its own in squares.
    """
    plain = row(f"materials.{entry.material}.tannin")
    shifts = [row(f"harvest.{key}") for key in factors(entry, form)]
    if not shifts:
        return plain
    middle = plain.value * math.prod(s.value for s in shifts)
    scale = math.sqrt(sum(r.scale() ** 2 for r in (plain, *shifts)))
    said = ", ".join(s.name.rpartition(".")[2].replace("_", " ") for s in shifts)
    return attrs.evolve(
        plain,
        what=f"{plain.what}; {said}",
        value=middle,
        spread=middle * math.expm1(scale),
        shape="lognormal",
    )


def fresh_row(form: str) -> str:
    """Return the name of the handbook row of the water in fresh tissue of a form."""
    return f"harvest.fresh.{form if form in _tissues() else 'bark'}"


@functools.cache
def _tissues() -> frozenset[str]:
    return frozenset(group("harvest.fresh"))
