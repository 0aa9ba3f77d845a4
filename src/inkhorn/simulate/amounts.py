"""What an entry's words for an amount say, before the maker's hand makes it true or not.

The invented truth reads the plain forms on its own, so that a fault in the
daybook's reader shows as a disagreement instead of being shared.
"""

from __future__ import annotations

import re
from fractions import Fraction

import attrs

from inkhorn.errors import QuantityError

_WORDS = {
    "half": "1/2", "a half": "1/2", "a third": "1/3", "two thirds": "2/3", "a quarter": "1/4",
    "three quarters": "3/4", "a fifth": "1/5", "a tenth": "1/10", "an eighth": "1/8", "a": "1", "an": "1",
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "eight": "8", "ten": "10",
}  # fmt: skip
_UNITS = {
    "kg": ("g", 1000.0), "g": ("g", 1.0), "gram": ("g", 1.0), "mg": ("g", 0.001), "l": ("ml", 1000.0),
    "litre": ("ml", 1000.0), "liter": ("ml", 1000.0), "dl": ("ml", 100.0), "cl": ("ml", 10.0), "ml": ("ml", 1.0),
    "s": ("s", 1.0), "second": ("s", 1.0), "min": ("s", 60.0), "minute": ("s", 60.0), "h": ("s", 3600.0),
    "hour": ("s", 3600.0), "d": ("s", 86400.0), "day": ("s", 86400.0), "week": ("s", 604800.0),
    "degc": ("degC", 1.0), "c": ("degC", 1.0), "°c": ("degC", 1.0), "mm": ("mm", 1.0), "cm": ("mm", 10.0),
    "teaspoon": ("ml", 5.0), "tsp": ("ml", 5.0), "tablespoon": ("ml", 15.0), "tbsp": ("ml", 15.0),
    "spoon": ("ml", 15.0), "cup": ("ml", 240.0), "drop": ("ml", 0.05),
}  # fmt: skip
_EYE = re.compile(r"^(about|roughly|around|some|nearly|almost|a good|ca\.?|~)\s*")
_RANGE = re.compile(r"^([\d.]+)\s*(?:-|–|to)\s*([\d.]+)\s*(.*)$")
_PLAIN = re.compile(r"^(\d+\s*/\s*\d+|[\d.]+)\s*(.*)$")


@attrs.frozen(kw_only=True)
class Said:
    """An amount as said: its number, unit ("g", "ml", "s", "degC", "mm", "1") and how it was found.

    ``how`` is "measured", "by eye" or "range"; a share ("1") may be ``of`` a named thing.
    """

    value: float
    unit: str
    how: str = "measured"
    of: str | None = None


def said(text: object, where: str = "") -> Said:
    """Read an amount; raise `QuantityError` where it is in no form that the truth knows."""
    if isinstance(text, int | float):
        return Said(value=float(text), unit="1")
    plain = str(text).strip().lower()
    if plain in {"all", "all of it", "everything"}:
        return Said(value=1.0, unit="1")
    if plain in {"half", "half of it"}:
        return Said(value=0.5, unit="1", how="by eye")
    eye = _EYE.match(plain)
    body = plain[eye.end() :] if eye else plain
    how = "by eye" if eye else "measured"
    if spread := _RANGE.match(body):
        low, high = float(spread[1]), float(spread[2])
        return _with_unit((low * high) ** 0.5, spread[3], "range", text, where)
    number, rest = _number(body, text, where)
    return _with_unit(number, rest, how, text, where)


def _number(body: str, text: object, where: str) -> tuple[float, str]:
    for word in sorted(_WORDS, key=len, reverse=True):
        if body.startswith(f"{word} "):
            return float(Fraction(_WORDS[word])), body[len(word) :].strip()
    if found := _PLAIN.match(body):
        return float(Fraction(found[1].replace(" ", ""))), found[2].strip()
    raise QuantityError(f"the truth cannot read the amount {text!r}", where=where, mend='Write it as "200 g"')


def _with_unit(number: float, rest: str, how: str, text: object, where: str) -> Said:
    word = rest.strip().removesuffix(".")
    if word in {"", "in 1"}:
        return Said(value=number, unit="1", how=how)
    if word == "%":
        return Said(value=number / 100.0, unit="1", how=how)
    if word.startswith("of "):
        of = re.sub(r"^(the |my )?(.*?)( jar| bag| box| bottle| lot)?$", r"\2", word[3:].strip())
        return Said(value=number, unit="1", how="by eye", of=of)
    first = word.split(" of ")[0].strip()
    for name in (first, first.removesuffix("s"), first.replace(" ", "")):
        if name in _UNITS:
            unit, factor = _UNITS[name]
            spoon = name in {"teaspoon", "tsp", "tablespoon", "tbsp", "spoon", "cup"}
            return Said(value=number * factor, unit=unit, how="by eye" if spoon else how)
    raise QuantityError(f"the truth does not know the measure {rest!r} in {text!r}", where=where)


def dilution(text: object) -> float:
    """Return the factor of ``"1 in 8"`` (8 parts in all), or of a plain number."""
    found = re.match(r"^\s*1\s*(?:in|:)\s*([\d.]+)\s*$", str(text).lower())
    return float(found[1]) if found else said(text).value
