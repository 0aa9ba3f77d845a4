"""Molar masses, the iron in each hydrate, solubility of vitriol, crystals on cooling."""

from __future__ import annotations

import functools
import re

import attrs
import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.errors import HandbookError
from inkhorn.handbook.load import group, row, value

_TOKEN = re.compile(r"([A-Z][a-z]?)(\d*)|\(|\)(\d*)")

HYDRATES = {
    "melanterite": "FeSO4.7H2O",
    "ferrohexahydrite": "FeSO4.6H2O",
    "rozenite": "FeSO4.4H2O",
    "szomolnokite": "FeSO4.H2O",
    "anhydrous": "FeSO4",
}


@functools.cache
def composition(formula: str) -> tuple[tuple[str, int], ...]:
    """Count the atoms of a formula such as ``"Fe2(SO4)3"`` or ``"FeSO4.7H2O"``.

    Parameters
    ----------
    formula : str
        Element symbols, counts, round brackets, and parts joined by a point.

    Returns
    -------
    tuple of (str, int)
        Element and count, sorted by element.

    Raises
    ------
    HandbookError
        Where the formula cannot be read.
    """
    counts: dict[str, int] = {}
    for part in formula.split("."):
        head = re.match(r"\d*", part)
        times = int(head.group()) if head and head.group() else 1
        for element, n in _count(part[head.end() if head else 0 :], formula).items():
            counts[element] = counts.get(element, 0) + times * n
    return tuple(sorted(counts.items()))


def _count(text: str, formula: str) -> dict[str, int]:
    stack: list[dict[str, int]] = [{}]
    at = 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None or (token.group().startswith(")") and len(stack) == 1):
            raise _unreadable(formula)
        if token.group() == "(":
            stack.append({})
        elif token.group().startswith(")"):
            inner = stack.pop()
            for element, n in inner.items():
                stack[-1][element] = stack[-1].get(element, 0) + n * int(token.group(3) or 1)
        else:
            element = token.group(1)
            stack[-1][element] = stack[-1].get(element, 0) + int(token.group(2) or 1)
        at = token.end()
    if len(stack) != 1 or not stack[0]:
        raise _unreadable(formula)
    return stack[0]


def _unreadable(formula: str) -> HandbookError:
    return HandbookError(
        "this chemical formula cannot be read", where=repr(formula), mend="Write it like FeSO4.7H2O"
    )


@functools.cache
def molar_mass(formula: str) -> float:
    """Molar mass of a formula, g/mol, from the rows ``iron.atomic_mass`` (IUPAC, abridged)."""
    return sum(n * value(f"iron.atomic_mass.{element}") for element, n in composition(formula))


def element_fraction(formula: str, element: str = "Fe") -> float:
    """Mass fraction of one element in a compound, 0-1; 0 where it is not in it.

    Parameters
    ----------
    formula : str
        As in `composition`.
    element : str, optional
        Its symbol.

    Returns
    -------
    float
        0-1.
    """
    n = dict(composition(formula)).get(element, 0)
    return n * value(f"iron.atomic_mass.{element}") / molar_mass(formula)


def iron_fraction(formula: str) -> float:
    """Mass fraction of iron in a compound, 0-1.

    Parameters
    ----------
    formula : str
        As in `composition`.

    Returns
    -------
    float
        0-1.
    """
    return element_fraction(formula, "Fe")


@functools.cache
def solubility_points() -> tuple[tuple[float, float], ...]:
    """Measured points (K, g FeSO4 per 100 g water) of the handbook, by temperature."""
    names = (k for k, v in group("iron.solubility").items() if isinstance(v, dict))
    points = (
        (row(f"iron.solubility.{n}.temperature").value, row(f"iron.solubility.{n}.grams").value)
        for n in names
    )
    return tuple(sorted(points))


def solubility(temperature: Floats) -> Array:
    """Anhydrous FeSO4 that saturates 100 g of water.

    Straight lines between measured points: heptahydrate below about 56 C,
    monohydrate above 64 C; the peak between is cut a little short. Measured,
    because equilibrium databases under-predict it by a quarter at 25 C.

    Parameters
    ----------
    temperature : array_like
        K; held at the end values outside 0-90 C.

    Returns
    -------
    ndarray
        g FeSO4 per 100 g water.
    """
    at, grams = zip(*solubility_points(), strict=True)
    return np.asarray(np.interp(floats(temperature), at, grams))


@attrs.frozen(kw_only=True)
class Crystals:
    """What crystallising gives: grams, ``(N,)``."""

    crystals: Array  # FeSO4.7H2O
    salt_left: Array  # anhydrous FeSO4 still dissolved
    water_left: Array


def crystal_yield(*, salt: Floats, water: Floats, temperature: Floats) -> Crystals:
    r"""Heptahydrate that falls out of a vitriol solution on cooling or drying.

    .. math:: x = \frac{s - S\,w/100}{a - S\,(1-a)/100}

    with ``s`` g anhydrous salt, ``w`` g water, ``S`` the solubility and ``a``
    the anhydrous share of the heptahydrate.

    Parameters
    ----------
    salt : array_like
        Dissolved FeSO4, anhydrous, g.
    water : array_like
        All water, g.
    temperature : array_like
        K, below 56 C where heptahydrate is the solid.

    Returns
    -------
    Crystals
        Crystals and what stays dissolved; no crystals below saturation.
    """
    share = molar_mass("FeSO4") / molar_mass("FeSO4.7H2O")
    s, w = np.broadcast_arrays(floats(salt), floats(water))
    per_gram = solubility(temperature) / 100
    crystals = (s - per_gram * w) / (share - per_gram * (1 - share))
    most = np.minimum(s / share, w / (1 - share))
    crystals = np.clip(crystals, 0, most)
    return Crystals(crystals=crystals, salt_left=s - crystals * share, water_left=w - crystals * (1 - share))
