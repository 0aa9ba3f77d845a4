"""The book of units, by-eye words and instruments, built from the handbook."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Iterator, Mapping
from statistics import NormalDist
from types import MappingProxyType
from typing import Any

from inkhorn.errors import HandbookError, UnknownNameError
from inkhorn.handbook.load import group, row, value
from inkhorn.handbook.rows import Row
from inkhorn.quantities import EVEN, UNITS, Measures, Precision, Quantity
from inkhorn.units import Measure, fold

_FACTORS: Mapping[str, tuple[str, float]] = {"h": ("time", 3600)}


@functools.cache
def measures() -> Measures:
    """Return the measures of the installed handbook."""
    names, instruments, usual = _instruments()
    return Measures(
        units=MappingProxyType(dict(_units())),
        phrases=MappingProxyType(dict(_phrases())),
        by_eye=MappingProxyType({key: value(f"measures.by_eye.{key}") for key in _MANNERS}),
        by_eye_even=MappingProxyType(
            {
                (dimension, manner): value(f"measures.by_eye.{dimension}_{manner}")
                for dimension in EVEN
                for manner in ("about", "roughly")
            }
        ),
        ends=(
            NormalDist().inv_cdf(value("measures.range.lower")),
            NormalDist().inv_cdf(value("measures.range.upper")),
        ),
        instruments=MappingProxyType(instruments),
        instrument_names=MappingProxyType(names),
        usual=MappingProxyType(usual),
    )


_MANNERS = ("about", "roughly", "fraction", "half", "percent", "thinned")


def _units() -> Iterator[tuple[str, Measure]]:
    for key, node in group("measures.unit").items():
        size = row(f"measures.unit.{key}.size")
        dimension, factor = _canonical(size)
        measure = Measure(
            name=node["names"][0],
            size=size.value * factor,
            dimension=dimension,
            relative=size.spread / size.value,
        )
        for name in node["names"]:
            yield fold(name), measure


def _phrases() -> Iterator[tuple[str, Quantity]]:
    for key, node in group("measures.phrase").items():
        yield from _named(node, row(f"measures.phrase.{key}.amount"))
    for node in group("measures.heat").values():
        yield from _named(node, row(node["row"]))


def _named(node: Mapping[str, Any], amount: Row) -> Iterator[tuple[str, Quantity]]:
    dimension, factor = _canonical(amount)
    for name in node["names"]:
        yield (
            fold(name),
            Quantity(
                text=name,
                value=amount.value * factor,
                unit=UNITS[dimension],
                sd=amount.spread * factor,
                dimension=dimension,
                how="by eye",
                shape=amount.shape,
            ),
        )


def _canonical(size: Row) -> tuple[str, float]:
    if size.unit in _FACTORS:
        return _FACTORS[size.unit]
    for dimension, unit in UNITS.items():
        if unit == size.unit and unit != "1":
            return dimension, 1
    raise HandbookError(f"the unit {size.unit!r} is none of the canonical ones", where=f"row {size.name}")


def _instruments() -> tuple[dict[str, str], dict[str, Mapping[str, Precision]], dict[str, str]]:
    names: dict[str, str] = {}
    precisions: dict[str, Mapping[str, Precision]] = {}
    usual: dict[str, str] = {}
    for key, node in group("measures.instrument").items():
        names.update({fold(name): key for name in node["names"]})
        usual.update(dict.fromkeys(node.get("usual", ()), key))
        precisions[key] = MappingProxyType(
            {
                dimension: Precision(
                    absolute=value(f"measures.instrument.{key}.{dimension}.absolute"),
                    relative=value(f"measures.instrument.{key}.{dimension}.relative"),
                )
                for dimension in node
                if dimension not in ("names", "usual")
            }
        )
    return names, precisions, usual


def resolve_instrument(text: str, where: str = "") -> str:
    """Return the key of an instrument by any of its names; raise `UnknownNameError` naming the nearest."""
    known = measures().instrument_names
    key = known.get(fold(text))
    if key is None:
        near = difflib.get_close_matches(fold(text), known, n=1)
        mend = (
            f"The nearest is {near[0]}"
            if near
            else f"Known instruments: {', '.join(sorted(known)[:12])}, ..."
        )
        raise UnknownNameError(f"{text!r} is no instrument that inkhorn knows", where=where, mend=mend)
    return key
