"""Words of number, hedges and names of units: "two thirds", "½", "about", "kg", "imperial pint".

SI units are left to a units library; kitchen and period units come in as a
mapping, built from the handbook. A word of the kitchen goes before a unit of
the library, which would read every pint as an American one.
"""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import attrs
import pint

from inkhorn.errors import QuantityError

#: The canonical unit of each dimension.
UNITS: Mapping[str, str] = {
    "mass": "g",
    "volume": "ml",
    "time": "s",
    "temperature": "degC",
    "length": "mm",
    "fraction": "1",
    "viscosity": "mPa s",
    "angle": "deg",
    "power": "W",
    "mass_conc": "g/L",
    "amount_conc": "mmol/L",
    "ph": "1",
    "specific_gravity": "1",
    "barkometer": "degBk",
    "brix": "degBx",
}
#: Dimensions whose true value spreads evenly to both sides and may be nought or less.
EVEN: frozenset[str] = frozenset({"temperature", "ph", "specific_gravity", "barkometer", "brix", "angle"})
#: Dimensions that a bare number may stand for.
BARE: tuple[str, ...] = ("ph", "specific_gravity", "barkometer", "brix")
#: How a dimension is called, and an example.
SAYS: Mapping[str, tuple[str, str]] = {
    "mass": ("a mass", "200 g"),
    "volume": ("a volume", "about 2 L"),
    "time": ("a length of time", "18 h"),
    "temperature": ("a temperature", "17 degC"),
    "length": ("a length", "3 mm"),
    "fraction": ("a share", "a third"),
    "viscosity": ("a viscosity", "2.4 mPa s"),
    "angle": ("an angle", "35 deg"),
    "power": ("a heat", "300 W"),
    "mass_conc": ("a concentration by mass", "12 g/L"),
    "amount_conc": ("a concentration by amount", "80 mmol/L"),
    "ph": ("a pH", "3.5"),
    "specific_gravity": ("a specific gravity", "1.045"),
    "barkometer": ("degrees barkometer", "20 degBk"),
    "brix": ("degrees Brix", "6 degBx"),
}


@attrs.frozen(kw_only=True)
class Measure:
    """A named unit: ``size`` in the canonical unit of its dimension, with the spread of using it."""

    name: str
    size: float
    dimension: str
    relative: float = 0.0


@functools.lru_cache(maxsize=1 << 14)
def fold(text: str) -> str:
    """Return ``text`` without case, hyphens, doubled spaces and plurals, for comparing names."""
    words = re.split(r"[\s_\-]+", text.strip().casefold())
    return " ".join(_singular(word) for word in words if word)


def _singular(word: str) -> str:
    if word.endswith("leaves"):
        return word.removesuffix("ves") + "f"
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word.removesuffix("s")
    return word


# ---------------------------------------------------------------- numbers in words

GLYPHS = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅒": "1/10",
}  # fmt: skip
COUNTS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "a couple": 2, "a couple of": 2,
    "a dozen": 12,
}  # fmt: skip
_PARTS = {
    "half": (1, 2), "third": (1, 3), "quarter": (1, 4), "fifth": (1, 5), "sixth": (1, 6),
    "seventh": (1, 7), "eighth": (1, 8), "ninth": (1, 9), "tenth": (1, 10),
}  # fmt: skip
DECIMAL = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:e[+-]?\d+)?"
NUMBER = rf"(?:(?:\d+\s+)?\d+\s*/\s*\d+|{DECIMAL})"
COUNT = "|".join(sorted(map(re.escape, COUNTS), key=len, reverse=True))
PART = rf"(?:(?:a|an|one|two|three|four|five|six|seven|eight|nine)[\s-]+)?(?:{'|'.join(_PARTS)})s?"


def read_number(text: str, where: str) -> float:
    """Read a decimal, a fraction or a mixed number."""
    text = text.strip()
    if "/" in text:
        head, _, below = text.rpartition("/")
        whole, _, above = head.strip().rpartition(" ")
        if float(below) == 0:
            raise QuantityError(f"{text!r} divides by nothing", where=where)
        return (float(whole) if whole.strip() else 0) + float(above) / float(below)
    if re.fullmatch(r"\d{1,3},\d{3}", text):
        raise QuantityError(
            f"{text!r} may be thousands or a decimal", where=where, mend="Write 1500 or 1.5 without a comma"
        )
    return float(text.replace(",", "."))


def read_part(text: str) -> float | None:
    """Read "a third", "two thirds", "half", "three-quarters"; None if it is no such thing."""
    found = re.fullmatch(PART, text.strip())
    if not found:
        return None
    words = re.split(r"[\s-]+", text.strip())
    above, below = _PARTS[words[-1].rstrip("s") if words[-1] not in _PARTS else words[-1]]
    return (COUNTS[words[0]] if len(words) > 1 else above) / below


# ---------------------------------------------------------------- hedges

_ABOUT = ("about", "around", "approximately", "approx.", "approx", "circa", "ca.", "ca", "c.", "~", "nearly",
          "almost", "some", "just over", "just under", "a bit over", "a bit under")  # fmt: skip
_ROUGHLY = ("very roughly", "roughly", "more or less", "maybe", "perhaps", "at a guess", "loosely")


def strip_hedges(written: str) -> tuple[str, str, bool]:
    """Return the lower-case body, "about" / "roughly" / "", and whether it began with a minus."""
    body = written.casefold()
    for glyph, plain in GLYPHS.items():
        body = re.sub(rf"(?<=\d)\s*{glyph}", f" {plain}", body).replace(glyph, plain)
    body = re.sub(r"\s+", " ", body.replace("–", "-").replace("—", "-").replace("−", "-")).strip()
    adverb = ""
    if body.endswith(" or so"):
        body, adverb = body.removesuffix(" or so"), "about"
    for manner, words in (("roughly", _ROUGHLY), ("about", _ABOUT)):
        rest = _prefix(body, words)
        if rest is not None:
            body, adverb = rest, manner
            break
    negative = bool(re.match(r"-\s*[\d.]|minus\s", body))
    return re.sub(r"^(-|minus)\s*", "", body) if negative else body, adverb, negative


def _prefix(body: str, words: tuple[str, ...]) -> str | None:
    """Return the body without one of these words in front, or None."""
    for word in sorted(words, key=len, reverse=True):
        if body.startswith(word) and (
            word == "~" or body[len(word) :][:1] in (" ", "~") or word.endswith(".")
        ):
            return body[len(word) :].strip()
    return None


# ---------------------------------------------------------------- units

_SI = re.compile(
    r"(?:pico|nano|micro|milli|centi|deci|deca|hecto|kilo|mega)?"
    r"(?:gram|liter|meter|second|watt|pascal|poise|mole|molar)"
    r"|minute|hour|day|week|fortnight|month|year|metric_ton|micron|kelvin|degree_Celsius|degree_Fahrenheit"
    r"|degree|radian|inch|cubic_centimeter"
)
_ALIASES = {
    "°c": "degC", "c": "degC", "degc": "degC", "celsius": "degC", "deg c": "degC", "degree c": "degC",
    "degree celsius": "degC", "degrees c": "degC", "degrees celsius": "degC", "centigrade": "degC",
    "degree": "deg", "degrees": "deg", "°": "deg", "deg": "deg", "°f": "degF", "f": "degF", "degf": "degF",
    "deg f": "degF", "fahrenheit": "degF", "degree fahrenheit": "degF", "degrees fahrenheit": "degF",
    "k": "kelvin", "cp": "centipoise", "cps": "centipoise",
    "mpa s": "mPa*s", "mpa.s": "mPa*s", "mpas": "mPa*s", "mpa*s": "mPa*s", "mpa·s": "mPa*s", "pa s": "Pa*s",
    "cm3": "cm**3", "cm³": "cm**3", "ccm": "cm**3", "dm3": "dm**3", "dm³": "dm**3", "m3": "m**3",
    "mm3": "mm**3", "sec": "second", "secs": "second", "min": "minute", "mins": "minute", "hrs": "hour",
    "um": "micrometer", "µm": "micrometer", "μm": "micrometer", "ul": "microliter", "µl": "microliter",
    "μl": "microliter", "mm": "mm", "mmol/l": "mmol/L", "mol/l": "mol/L", "mm/l": "mmol/L",
    "umol/l": "umol/L", "µmol/l": "umol/L", "ug/l": "ug/L", "µg/l": "ug/L", "ppm": "mg/L",
    "g/100 ml": "g/dL", "g/100ml": "g/dL", "w": "watt", "kw": "kilowatt", "kg/l": "kg/L", "g/cm3": "g/cm**3",
}  # fmt: skip
_DIMENSIONS: tuple[tuple[str, str], ...] = (
    ("mass", "gram"), ("volume", "milliliter"), ("time", "second"), ("length", "millimeter"),
    ("viscosity", "mPa*s"), ("power", "watt"), ("mass_conc", "g/L"), ("amount_conc", "mmol/L"),
    ("fraction", "dimensionless"),
)  # fmt: skip


#: The units that nearly every daybook is written in: dimension, size in its canonical unit, offset. The units
#: library takes a third of a second to start; a test holds this table to it.
PLAIN: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        **dict.fromkeys(("g", "gram", "grams"), ("mass", 1.0, 0.0)),
        **dict.fromkeys(("kg", "kilogram", "kilograms"), ("mass", 1e3, 0.0)),
        **dict.fromkeys(("mg", "milligram", "milligrams"), ("mass", 1e-3, 0.0)),
        **dict.fromkeys(
            ("ml", "milliliter", "milliliters", "millilitre", "millilitres"), ("volume", 1.0, 0.0)
        ),
        **dict.fromkeys(("l", "liter", "liters", "litre", "litres"), ("volume", 1e3, 0.0)),
        **dict.fromkeys(("s", "sec", "second", "seconds"), ("time", 1.0, 0.0)),
        **dict.fromkeys(("min", "mins", "minute", "minutes"), ("time", 60.0, 0.0)),
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), ("time", 3600.0, 0.0)),
        **dict.fromkeys(("d", "day", "days"), ("time", 86400.0, 0.0)),
        **dict.fromkeys(("week", "weeks"), ("time", 7 * 86400.0, 0.0)),
        **dict.fromkeys(("degc", "°c"), ("temperature", 1.0, 0.0)),
        **dict.fromkeys(("mm", "millimeter", "millimetre"), ("length", 1.0, 0.0)),
        **dict.fromkeys(("mpa s", "mpa.s"), ("viscosity", 1.0, 0.0)),
        "mmol/l": ("amount_conc", 1.0, 0.0),
        "g/l": ("mass_conc", 1.0, 0.0),
    }
)


@functools.cache
def _pint() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


def si_unit(text: str) -> tuple[str, float, float] | None:
    """Return (dimension, factor, offset) of an SI or everyday unit, or None.

    ``canonical = factor * written + offset``; the offset is for temperatures.
    """
    low = text.casefold().strip()
    return PLAIN.get(low) or by_library(text)


@functools.cache
def by_library(text: str) -> tuple[str, float, float] | None:
    """Return what `si_unit` does, by the units library alone."""
    low = text.casefold().strip()
    # A capital letter never makes a maker's litre or gram a mega-gram: lower case is tried first.
    for name in dict.fromkeys((_ALIASES.get(low, ""), low, text.strip())):
        if not name or re.search(r"[^\w/*. µμ°-]", name):
            continue
        try:
            unit = _pint().parse_units(name)
        except Exception:  # noqa: BLE001, S112 - pint raises whatever its tokeniser met
            continue
        if not all(_SI.fullmatch(part) for part in dict(unit._units)):  # noqa: SLF001
            continue
        if found := _dimension(unit):
            return found
    return None


def _dimension(unit: pint.Unit) -> tuple[str, float, float] | None:
    registry = _pint()
    if unit in (registry.degC, registry.degF, registry.kelvin):
        at_0, at_100 = (registry.Quantity(x, unit).to("degC").magnitude for x in (0, 100))
        return "temperature", (at_100 - at_0) / 100, at_0
    if unit in (registry.degree, registry.radian):
        return "angle", float(registry.Quantity(1, unit).to("degree").magnitude), 0
    for dimension, canonical in _DIMENSIONS:
        if unit.is_compatible_with(canonical):
            return dimension, float(registry.Quantity(1, unit).to(canonical).magnitude), 0
    return None


@attrs.frozen
class Unit:
    """A unit as written: its dimension, ``canonical = factor * x + offset``, spread of using it."""

    dimension: str
    factor: float
    offset: float = 0.0
    relative: float = 0.0


def read_unit(text: str, named: Mapping[str, Measure], where: str) -> Unit:
    """Return a unit by a name of ``named`` (folded) or of SI; raise `QuantityError` naming the nearest."""
    if text.strip() in ("%", "percent", "per cent", "%w/w"):
        return Unit("fraction", 1 / 100)
    known = named.get(fold(text))
    if known:
        return Unit(known.dimension, known.size, 0.0, known.relative)
    si = si_unit(text)
    if si:
        return Unit(*si)
    near = difflib.get_close_matches(fold(text), [*named, *_EVERYDAY], n=1)
    mend = f"The nearest is {near[0]}" if near else "Write for example 640 g, about 2 L or 18 h"
    raise QuantityError(f"{text.strip()!r} is no unit that inkhorn knows", where=where, mend=mend)


_EVERYDAY = (
    "gram",
    "kilogram",
    "litre",
    "millilitre",
    "hour",
    "minute",
    "second",
    "day",
    "week",
    "millimetre",
)
