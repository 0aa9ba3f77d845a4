"""Acid without a full speciation: what strong ions leave over, what metal can use, how sour a film is.

The whole speciation (`composition.acidity`) is for readings of pH. A stroke,
a pot of filings and a skin of chalk need only how much acid there is, which
is a sum over strong ions, and a rough pH from it with bisulfate as the buffer.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array, Liquor

#: exp(LN_10 x) is 10^x, and many times as quick.
LN_10 = math.log(10)
CLASSES = ("pyrogallol", "catechol")


@functools.cache
def _charges() -> Mapping[str, float]:
    """Return the acid that a mol of each strong ion leaves over (anions) or takes up (cations).

    Iron in the complex keeps the charge that is left of iron(II)'s two after
    it turned and gave off the protons of the handbook.
    """
    return MappingProxyType(
        {
            "sulfate": 2.0,
            "chloride": 1.0,
            "iron2": -2.0,
            "iron3": -3.0,
            "aluminium": -3.0,
            "calcium": -2.0,
            "strong": -1.0,
            "complex_iron": value("binding.protons.one_to_one") - 2.0,
        }
    )


def excess(liquor: Liquor) -> Array:
    """Return the acid that the strong ions leave unbalanced, mol H+, (N,); negative for a base."""
    return liquor.weighed(_charges())


def usable(liquor: Liquor, draws: Draws) -> tuple[Array, Array]:
    """Return the mineral and the weak acid that metal can still use up, mol H+, each (N,)."""
    over = excess(liquor)
    weak = liquor["acetate"] + liquor["gallic"] / molar_mass("C7H6O5")
    weak = weak + liquor["solids"] * draws.of("ink/solids_acid", "pot.solids_acid")
    return np.maximum(over, 0.0), np.clip(weak + np.minimum(over, 0.0), 0.0, weak)


def protons(over: Array, sulfate: Array, dissociation: Array) -> Array:
    """Return free H+, mol/L, (N,), of acid ``over`` beside ``sulfate``, mol/L, that takes part of it up.

    The positive root of ``h^2 + h (K + S - A) - K A = 0``.
    """
    a = np.maximum(over, 0.0)
    b = dissociation + sulfate - a
    root = np.sqrt(b * b + 4.0 * dissociation * a)
    # Of the two ways to write the root, the one without cancellation.
    return np.where(b > 0, 2.0 * dissociation * a / np.maximum(b + root, 1e-300), 0.5 * (root - b))


def dissociation(draws: Draws) -> Array:
    """Return the dissociation constant of bisulfate in an ink, mol/L, (N,)."""
    return draws.once(
        "film/bisulfate K", lambda: np.exp(-LN_10 * draws.of("film/bisulfate", "film.bisulfate"))
    )


def binding_law(kind: str, draws: Draws) -> tuple[Array, Array]:
    """Return the pH of half binding of a class of phenol and the natural-logarithmic slope there, (N,) each."""
    middle = draws.of(f"film/{kind}.midpoint", f"film.{kind}.midpoint")
    decades = draws.of(f"film/{kind}.slope", f"film.{kind}.slope")
    return middle, draws.once(f"film/{kind} natural slope", lambda: LN_10 * decades)


def bound_share(kind: str, ph: Array, draws: Draws) -> Array:
    """Return the share of the iron(III) that a class of phenol could hold and does hold at a pH, (N,)."""
    middle, slope = binding_law(kind, draws)
    return np.asarray(1.0 / (1.0 + np.exp(slope * (middle - ph))))


def rough_ph(liquor: Liquor, millilitres: Array, draws: Draws) -> Array:
    """Return a rough pH of a liquor, (N,), from its strong ions alone; mild where they leave no acid."""
    per = 1000.0 / np.maximum(millilitres, 1e-9)
    free = protons(excess(liquor) * per, liquor["sulfate"] * per, dissociation(draws))
    return np.asarray(-np.log10(free + 10.0 ** -value("film.chalked_ph")))
