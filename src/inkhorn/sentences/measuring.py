"""Units and the words of measuring: which stands at a place, of which dimension it is, and the amount found with it."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.sentences.lexicon import table
from inkhorn.sentences.tokens import Qty, Raw, folded
from inkhorn.units import PLAIN, fold, read_unit

_TERMINAL = {
    "mass": "MASS", "volume": "VOLUME", "time": "TIME", "length": "LENGTH", "temperature": "TEMP",
    "viscosity": "VISCOSITY", "mass_conc": "CONC", "amount_conc": "CONC", "power": "HEAT", "fraction": "SHARE",
    "percent": "PERCENT", "number": "NUMBER", "dilution": "DILUTION", "angle": "ANGLE", "unknown": "STRANGE",
    "barkometer": "BARK", "brix": "BRIX",
}  # fmt: skip


@attrs.frozen
class Found:
    """An amount and the place after it."""

    qty: Qty
    end: int
    guess: str = ""

    @property
    def type(self) -> str:
        """Terminal of the grammar."""
        return _TERMINAL[self.qty.dimension]


@functools.cache
def vocabulary_of_measures() -> Mapping[str, Mapping[tuple[str, ...], str]]:
    """Return hedges and units by their words: to the hedge, and to the unit as `read_quantity` knows it."""
    measured = table("measures")
    hedges = {folded(phrase): hedge for hedge, phrases in measured["hedge"].items() for phrase in phrases}
    tails = {folded(phrase): hedge for hedge, phrases in measured["tail"].items() for phrase in phrases}
    units = {folded(name): name for name in (*measures().units, *PLAIN) if name not in ("barkometer", "hand")}
    units |= {folded(word): unit for unit, words in measured["unit"].items() for word in words}
    strange = {folded(word): word for word in measured["strange"]["words"]}
    phrases = {folded(phrase): name for name, words in measured["phrase"].items() for phrase in words}
    return {"hedge": hedges, "tail": tails, "unit": units, "strange": strange, "phrase": phrases}


def match(
    words: Sequence[Raw], at: int, phrases: Mapping[tuple[str, ...], str], most: int = 5
) -> tuple[str, int] | None:
    """Return the longest of some phrases that stands at a place, and the place after it."""
    for size in range(min(most, len(words) - at), 0, -1):
        key = tuple(fold(w.text) or w.text for w in words[at : at + size])
        if key in phrases and words[at].text != "says":
            return phrases[key], at + size
    return None


def of_unit(figure: str, unit: str, end: int) -> Found | None:
    """Return a figure with its unit as an amount, or None where no dimension has that unit."""
    dimension = dimension_of(unit)
    if dimension is None:
        return None
    return Found(Qty(text=f"{figure} {unit}", dimension=dimension, figure=figure, unit=unit), end)


@functools.cache
def dimension_of(unit: str) -> str | None:
    """Return the dimension of a unit, or None."""
    if unit in ("%", "percent"):
        return "percent"
    try:
        return read_unit(unit, measures().units, "").dimension
    except QuantityError:
        return None


def unit_at(words: Sequence[Raw], at: int) -> tuple[str, int] | None:
    """Return the unit that stands at a place, and the place after it."""
    return match(words, at, vocabulary_of_measures()["unit"], 3)


def size(value: float, unit: str) -> float:
    """Return a figure in the base unit of its dimension, so that two may be compared."""
    if unit in ("%", "percent"):
        return value
    known = read_unit(unit, measures().units, "")
    return value * known.factor + known.offset


def smaller(one: str, other: str) -> bool:
    """Return whether one unit is smaller than another."""
    first, second = (read_unit(u, measures().units, "") for u in (one, other))
    return first.factor < second.factor


def terminal(qty: Qty) -> str:
    """Return the terminal of an amount."""
    return _TERMINAL[qty.dimension]
