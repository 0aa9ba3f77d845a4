"""The estimate with its doubts about the model set to nothing."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from types import MappingProxyType

import attrs

from inkhorn.estimate import problem
from inkhorn.handbook import load

#: Lasting factors and shifts of the model; the scatter of the hand from trial to trial (`misfit.stroke`) stays.
LASTING = ("hue.R", "hue.G", "hue.B", "viscosity", "thickening", "ph", "gravity", "residue", "phenols")
PASSING = ("channel", "thickness")
_NOTHING = 1e-4


@contextlib.contextmanager
def without_misfit() -> Iterator[None]:
    """Let every row of the misfit term say that the model is right, for as long as the block runs."""
    whole = load.rows
    table = dict(whole())
    for name in LASTING:
        table[f"misfit.{name}"] = attrs.evolve(table[f"misfit.{name}"], spread=_NOTHING)
    for name in PASSING:
        table[f"misfit.{name}"] = attrs.evolve(table[f"misfit.{name}"], value=_NOTHING, spread=_NOTHING / 10)
    fixed = MappingProxyType(table)
    load.rows = lambda: fixed
    problem.error_sizes.cache_clear()
    try:
        yield
    finally:
        load.rows = whole
        problem.error_sizes.cache_clear()
