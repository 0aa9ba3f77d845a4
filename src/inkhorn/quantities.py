"""Amounts as a maker says them: "about 2 L", "40-60 ml", "a third of the plum-gum jar".

A `Quantity` keeps the words, and beside them a centre, a canonical unit and one
standard deviation, so that "200 g" from a kitchen scale and "two spoonfuls" can
stand in the same sum. What a word, a spoon or an instrument is worth is not
known here: it comes in as a `Measures`, built from the handbook.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

import attrs

from inkhorn.errors import QuantityError
from inkhorn.units import (
    BARE,
    COUNT,
    COUNTS,
    DECIMAL,
    EVEN,
    NUMBER,
    PART,
    SAYS,
    UNITS,
    Measure,
    Unit,
    fold,
    read_number,
    read_part,
    read_unit,
    si_unit,
    strip_hedges,
)

__all__ = ["EVEN", "UNITS", "Measures", "Precision", "Quantity", "read_quantity"]


@attrs.frozen(kw_only=True)
class Quantity:
    """An amount with its spread.

    Parameters
    ----------
    text : str
        As written.
    value : float
        Centre in ``unit``: the median where ``shape`` is lognormal.
    unit : str
        Canonical unit of the dimension, see `UNITS`.
    sd : float
        One standard deviation in ``unit``; for a lognormal ``value + sd`` is
        the upper one-sd point.
    dimension : str
        One of `UNITS`.
    how : str
        "measured", "by eye", "range" or "exact"; of a reading that only gives a
        limit ("more than 10 mPa s") "above" or "below".
    of : str, optional
        What a fraction is a fraction of; None where that is what is in hand.
    shape : str
        Distribution of the true amount, "lognormal" or "normal".
    """

    text: str
    value: float
    unit: str
    sd: float
    dimension: str
    how: str
    of: str | None = None
    shape: str = "lognormal"

    def scale(self) -> float:
        """Return one standard deviation on the quantity's own scale (natural log or linear)."""
        return self.sd if self.shape == "normal" else math.log1p(self.sd / self.value)

    def beyond(self, deviations: float) -> float:
        """Return the value that lies so many standard deviations above (below, if negative) the centre."""
        if self.shape == "normal":
            return self.value + deviations * self.sd
        return self.value * math.exp(deviations * self.scale())


@attrs.frozen(kw_only=True)
class Precision:
    """What an instrument is worth: absolute error in the canonical unit, and as a share of the figure."""

    absolute: float
    relative: float

    def sd(self, value: float) -> float:
        """Return one standard deviation at ``value``."""
        return math.hypot(self.absolute, self.relative * value)


@attrs.frozen(kw_only=True)
class Measures:
    """The book of units, words and instruments that a reading of text leans on.

    Parameters
    ----------
    units : mapping
        Folded name (see `fold`) to `Measure`.
    phrases : mapping
        Folded words that are a whole quantity ("overnight") to that quantity.
    by_eye : mapping
        "about", "roughly", "fraction", "half", "percent", "thinned" to the
        relative standard deviation.
    by_eye_even : mapping
        (dimension, "about" or "roughly") to the absolute one, for `EVEN`.
    ends : tuple of float
        Standard-normal scores of the two ends of a range.
    instruments : mapping
        Instrument key to its precision by dimension.
    instrument_names : mapping
        Folded name to instrument key.
    usual : mapping
        Dimension to the instrument assumed where none is named.
    """

    units: Mapping[str, Measure]
    phrases: Mapping[str, Quantity]
    by_eye: Mapping[str, float]
    by_eye_even: Mapping[tuple[str, str], float]
    ends: tuple[float, float]
    instruments: Mapping[str, Mapping[str, Precision]]
    instrument_names: Mapping[str, str]
    usual: Mapping[str, str]


_ALL = frozenset(
    {"all", "everything", "all of it", "the lot", "the whole", "the whole lot", "whole", "the rest"}
)
_HOLDERS = frozenset(
    {"jar", "bag", "sack", "packet", "tin", "box", "bottle", "basket", "heap", "pile", "lot"}
)


# ---------------------------------------------------------------- reading

_AMOUNT = re.compile(
    rf"\s*(?:and\s+|,\s*)?(?P<n>{NUMBER}|(?:{COUNT})(?=\s))(?P<and>\s+and\s+(?:a\s+half|a\s+quarter|a\s+third))?"
    r"\s*(?P<u>[^\d\s.,/+-](?:.*?[^\s,])??)(?=\s*,?\s+(?:and\s+)?\d|\s*$)"
)
_PART_OF = re.compile(
    rf"(?P<n>{PART}|{NUMBER}\s*(?:%|percent|per\s+cent)|\d+\s*/\s*\d+|the\s+whole|all)"
    r"(?:\s+(?:of\s+)?(?P<article>the|my|our|this|that|an?)|\s+of)?(?:\s+(?P<of>.+))?"
)
_PLUS_MINUS = re.compile(
    rf"(?P<n>{NUMBER})\s*(?P<u1>[^\d±+]*?)\s*(?:±|\+/-|\+-)\s*(?P<sd>{NUMBER})\s*(?P<u>.*)"
)
_END = rf"{NUMBER}|{PART}|(?:{COUNT})(?=\s)"
_RANGE = re.compile(
    rf"(?:(?P<between>between|from)\s+)?(?P<lo>{_END})\s*(?P<u1>[^\d\s-][^\d-]*?)??\s*(?P<dash>-|\bto\b|\band\b)"
    rf"\s*(?P<hi>{_END})\s*(?P<u>.*)"
)
_WHAT_IS_THERE = frozenset(
    {"it", "it all", "them", "what is there", "what is left", "what was there", "this", "that", "lot"}
)


@attrs.frozen
class _Found:
    """What was understood: an amount in its canonical unit before its spread is worked out."""

    value: float
    unit: Unit
    manner: str = "measured"  # or a key of Measures.by_eye, "range", "exact", "given"
    sd: float = 0.0  # for "range" on the quantity's own scale, for "given" in the canonical unit
    of: str | None = None
    decimals: int | None = None
    even: bool = False


@attrs.frozen
class _Reader:
    text: str
    expect: tuple[str, ...]
    measures: Measures
    where: str

    def fault(self, what: str, mend: str = "") -> QuantityError:
        says, example = SAYS.get(self.expect[0], ("an amount", "200 g"))
        return QuantityError(what, where=self.where, mend=mend or f"Give {says}, for example {example}")

    def read(self, body: str) -> _Found:
        """Try the forms in turn, the most particular first."""
        if body in _ALL and "fraction" in self.expect:
            return _Found(1, Unit("fraction", 1), "exact")
        for form in (self.thinned, self.plus_minus, self.range, self.share, self.bare):
            found = form(body)
            if found is not None:
                return found
        return self.amount(body)

    def thinned(self, body: str) -> _Found | None:
        found = re.fullmatch(r"(\d+|one|a)\s+(?:part\s+|drop\s+)?in\s+(\d+)", body)
        if not found or "fraction" not in self.expect:
            return None
        above = float(COUNTS.get(found[1], 0) or found[1])
        below = float(found[2])
        if not 0 < above <= below:
            raise self.fault(f"{self.text!r} is no dilution", "Write for example 1 in 8: one drop in eight")
        return _Found(above / below, Unit("fraction", 1), "thinned")

    def plus_minus(self, body: str) -> _Found | None:
        found = _PLUS_MINUS.fullmatch(body)
        if not found:
            return None
        unit = self.unit_of(found["u"] or found["u1"])
        value = read_number(found["n"], self.where) * unit.factor + unit.offset
        return _Found(value, unit, "given", read_number(found["sd"], self.where) * unit.factor)

    def range(self, body: str) -> _Found | None:
        found = _RANGE.fullmatch(body)
        if not found or (found["dash"] == "and" and found["between"] != "between"):
            return None
        lo, hi = (self.end(found[key]) for key in ("lo", "hi"))
        rest, of = found["u"].strip(), None
        parts = read_part(found["lo"]) is not None or read_part(found["hi"]) is not None
        share = re.fullmatch(r"(%|percent|per cent)?(?:\s*of\s+(.+))?", rest)
        if "fraction" in self.expect and share and (parts or share[1]):
            unit, of = Unit("fraction", 1 / 100 if share[1] else 1), _thing(share[2])
        else:
            unit = self.unit_of(rest)
        first = self.unit_of(found["u1"]) if found["u1"] and found["u1"].strip() else unit
        low, high = lo * first.factor + first.offset, hi * unit.factor + unit.offset
        if first.dimension != unit.dimension or not low < high:
            raise self.fault(
                f"the range {self.text!r} does not go from less to more", "Write the smaller end first"
            )
        span = self.measures.ends[1] - self.measures.ends[0]
        if unit.dimension in EVEN or low <= 0:
            return _Found((low + high) / 2, unit, "range", (high - low) / span, of, even=True)
        return _Found(math.sqrt(low * high), unit, "range", math.log(high / low) / span, of)

    def end(self, text: str) -> float:
        part = read_part(text)
        if part is not None:
            return part
        return float(COUNTS[text]) if text in COUNTS else read_number(text, self.where)

    def share(self, body: str) -> _Found | None:
        """Read "a third of the jar", "half", "30 % of it", "half a litre"."""
        found = _PART_OF.fullmatch(body)
        if not found:
            return None
        said, of = found["n"].strip(), found["of"]
        part = read_part(said)
        if of and found["article"] in (None, "a", "an") and self.is_unit(of):
            if part is None:
                return None  # "1/2 L" is an amount like any other
            unit = self.unit_of(of)
            return _Found(part * unit.factor + unit.offset, unit, "measured", 0, None, None)
        if "fraction" not in self.expect:
            return None
        thing = _thing(of)
        if said in ("all", "the whole"):
            return _Found(1, Unit("fraction", 1), "exact", 0, thing)
        if part is not None:
            return _Found(part, Unit("fraction", 1), "half" if said == "half" else "fraction", 0, thing)
        number = re.sub(r"\s*(%|percent|per\s+cent)$", "", said)
        value = read_number(number, self.where) / (1 if number == said else 100)
        # "1/54 of the jar" is written like a measured share, but nobody measures a jar in fifty-fourths.
        judged = "fraction" if thing and "/" in said else "percent"
        return _Found(value, Unit("fraction", 1), judged, 0, thing)

    def bare(self, body: str) -> _Found | None:
        dimension = next((d for d in self.expect if d in BARE), None)
        body = re.sub(r"^ph\s*", "", body) if dimension == "ph" else body
        if dimension is None or not re.fullmatch(NUMBER, body):
            return None
        return _Found(read_number(body, self.where), Unit(dimension, 1), decimals=_decimals(body))

    def amount(self, body: str) -> _Found:
        """Read "640 g", "two spoonfuls", "1 h 30 min", "2 lb 3 oz"."""
        body = re.sub(r"^(\d+)\s*h\s*(\d{1,2})$", r"\1 h \2 min", body)
        body = re.sub(r"^(?:an?|one) (\w+) and a half$", r"1.5 \1", body)
        total, unit, spread, at, decimals = 0.0, None, 0.0, 0, None
        while at < len(body):
            found = _AMOUNT.match(body, at)
            if not found:
                raise self.not_understood(body)
            here = self.unit_of(found["u"])
            if unit is not None and (here.dimension != unit.dimension or here.offset):
                raise self.fault(f"{self.text!r} adds {unit.dimension} to {here.dimension}")
            number = self.end(found["n"])
            if found["and"]:
                number += read_part(re.sub(r"^\s*and\s+", "", found["and"])) or 0
            part = number * here.factor + here.offset
            total, spread, unit, at = (
                total + part,
                math.hypot(spread, here.relative * part),
                here,
                found.end(),
            )
            decimals = _decimals(found["n"])
        if unit is None:
            raise self.not_understood(body)
        relative = spread / total if total else unit.relative
        return _Found(total, Unit(unit.dimension, unit.factor, unit.offset, relative), decimals=decimals)

    def not_understood(self, body: str) -> QuantityError:
        if re.fullmatch(NUMBER, body):
            return self.fault(f"{self.text!r} has no unit")
        return self.fault(f"{self.text!r} was not understood as an amount")

    def unit_of(self, text: str) -> Unit:
        if not text.strip():
            bare = next((d for d in self.expect if d in BARE), None)
            if bare is None:
                raise self.fault(f"{self.text!r} has no unit")
            return Unit(bare, 1)
        return read_unit(text, self.measures.units, self.where)

    def is_unit(self, text: str) -> bool:
        return fold(text) in self.measures.units or si_unit(text) is not None


def _decimals(number: str) -> int | None:
    """Return how many decimals were written, None for a fraction or a number word."""
    if not re.fullmatch(DECIMAL, number) or "e" in number:
        return None
    return len(re.split(r"[.,]", number)[1]) if re.search(r"[.,]", number) else 0


def _thing(text: str | None) -> str | None:
    """Return the name in "the plum-gum jar" as a name is stored: plum-gum."""
    if text is None:
        return None
    body = re.sub(r"^(?:of\s+)?(?:the|my|our|this|that)\s+", "", text.strip().casefold())
    if body in _WHAT_IS_THERE:
        return None
    words = re.split(r"\s+", body)
    if len(words) > 1 and words[-1] in _HOLDERS:
        words = words[:-1]
    return "-".join(words)


_LONGEST = 120


def read_quantity(
    text: str | float,
    *,
    expect: tuple[str, ...],
    measures: Measures,
    where: str = "",
    instrument: str = "",
    sd: str | float | None = None,
    nought: bool = False,
) -> Quantity:
    """Read an amount as a maker writes it.

    Parameters
    ----------
    text : str or float
        "640 g", "about 5 L", "40-60 ml", "200 ± 5 g", "two spoonfuls", "1 h 30 min", "half", "all",
        "roughly a third of the plum-gum jar", "1 in 8", "overnight"; a bare number only for `BARE`.
    expect : tuple of str
        Dimensions that fit here (see `UNITS`), the likeliest first.
    measures : Measures
        Units, words and instruments.
    where : str
        What an error should point to.
    instrument : str
        Key of the instrument it was read from; "" for the usual one.
    sd : str or float, optional
        One standard deviation as given by the maker, a bare number being in the unit of ``text``.
    nought : bool
        Whether nought is allowed.

    Returns
    -------
    Quantity
        In the canonical unit of its dimension.

    Raises
    ------
    QuantityError
        Not understood, no unit, wrong dimension, negative, or not finite.
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise QuantityError("this is no amount", where=where, mend='Write it as text, for example "200 g"')
    if (isinstance(text, str) and len(text) > _LONGEST) or (isinstance(text, int) and abs(text) > 10**12):
        raise QuantityError(f"the amount is longer than {_LONGEST} characters or digits", where=where)
    written = text.strip() if isinstance(text, str) else f"{text!r}"
    reader = _Reader(written, expect, measures, where)
    body, adverb, negative = strip_hedges(written)
    if not body:
        raise reader.fault("the amount is empty")
    phrase = measures.phrases.get(fold(body))
    if phrase is not None and phrase.dimension in expect:
        return attrs.evolve(phrase, text=written)
    found = reader.read(body)
    if negative:
        if found.unit.dimension != "temperature":
            raise reader.fault(f"{written!r} is less than nothing")
        # The sign belongs to the number as written, before the offset of its scale.
        found = attrs.evolve(found, value=2 * found.unit.offset - found.value)
    return _finish(reader, found, adverb, instrument, sd, nought=nought)


def _finish(
    reader: _Reader, found: _Found, adverb: str, instrument: str, sd: str | float | None, *, nought: bool
) -> Quantity:
    dimension, value = found.unit.dimension, found.value
    if dimension not in reader.expect:
        says = SAYS.get(dimension, (dimension, ""))[0]
        wanted = " or ".join(SAYS.get(d, (d, ""))[0] for d in reader.expect)
        raise reader.fault(f"{reader.text!r} is {says}, and this is to be {wanted}")
    if not math.isfinite(value) or (value == 0 and not nought and dimension not in EVEN):
        raise reader.fault(f"{reader.text!r} is nothing" if value == 0 else f"{reader.text!r} is not finite")
    if sd is not None:
        found = attrs.evolve(found, manner="given", sd=_given_sd(reader, found.unit, sd))
    spread, how = _spread(reader.measures, found, adverb, instrument)
    return Quantity(
        text=reader.text,
        value=value,
        unit=UNITS[dimension],
        sd=spread,
        dimension=dimension,
        how=how,
        of=found.of,
        shape="normal" if dimension in EVEN or value <= 0 or found.even else "lognormal",
    )


def _spread(measures: Measures, found: _Found, adverb: str, instrument: str) -> tuple[float, str]:
    """Return one standard deviation in the canonical unit, and how the amount was come by."""
    value, manner, own = found.value, found.manner, found.unit.relative
    if manner == "exact":
        return 0.0, "exact"
    if manner == "given":
        return found.sd, "measured"
    if manner == "range":
        return (
            found.sd if found.even else value * math.expm1(math.hypot(found.sd, math.log1p(own)))
        ), "range"
    if manner == "thinned":
        return value * measures.by_eye["thinned"], "measured"
    even = measures.by_eye_even.get((found.unit.dimension, adverb))
    if even is not None:
        return even, "by eye"
    if adverb:
        return abs(value) * math.hypot(measures.by_eye[adverb], own), "by eye"
    precision = _precision(measures, found, instrument)
    if manner != "measured" and precision is None:
        return value * measures.by_eye[manner], "by eye"
    if own or precision is None:
        return abs(value) * own, "by eye"
    return precision.sd(value), "measured"


def _precision(measures: Measures, found: _Found, instrument: str) -> Precision | None:
    dimension = found.unit.dimension
    if instrument:
        return measures.instruments[instrument].get(dimension)
    usual = measures.usual.get(dimension)
    if usual is None:
        return None
    precision = measures.instruments[usual][dimension]
    if found.decimals is None or dimension not in _READ_AS_WRITTEN:
        return precision
    # A figure written to a tenth of a gram was read from a scale that shows tenths.
    step = abs(found.unit.factor) / 10**found.decimals
    return attrs.evolve(precision, absolute=min(precision.absolute, step))


_READ_AS_WRITTEN = ("mass", "volume", "length")


def _given_sd(reader: _Reader, unit: Unit, sd: str | float) -> float:
    where = f"{reader.where} sd".strip()
    if isinstance(sd, str):
        found = attrs.evolve(reader, text=sd, where=where).read(sd.strip().casefold())
        if found.unit.dimension != unit.dimension:
            raise QuantityError(f"the sd {sd!r} is of another kind than {reader.text!r}", where=where)
        spread = found.value - found.unit.offset
    elif isinstance(sd, bool) or not isinstance(sd, int | float):
        raise QuantityError(
            "the sd is no number", where=where, mend="Give one standard deviation, for example 0.03"
        )
    else:
        spread = sd * abs(unit.factor)
    if not (math.isfinite(spread) and spread > 0):
        raise QuantityError(f"the sd {sd!r} is not more than nothing", where=where)
    return spread
