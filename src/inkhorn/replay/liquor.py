"""The liquor: how much of each substance a vessel holds, for every draw at once."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.handbook.load import value

Array = NDArray[np.float64]

#: Every substance with the unit of its amount. All are extensive, so that a
#: pour is a multiplication and a mixture a sum.
SUBSTANCES: Final[dict[str, str]] = {
    "water": "g",
    "ethanol": "g",
    "acetate": "mol",  # acetic acid and acetate together
    "gallotannin": "g",
    "gallic": "g",
    "ellagitannin": "g",
    "condensed": "g",
    "solids": "g",  # other dissolved matter of a plant or a wine
    "brown": "g of usual colour",  # what of all that is brown, as grams of the handbook's brown matter; weighs nothing
    "iron2": "mol",
    "iron3": "mol",  # not in the complex
    "complex_iron": "mol",
    "complex_pyrogallol": "mol",  # phenol groups taken up by the complex, by class
    "complex_catechol": "mol",
    "sulfate": "mol",
    "chloride": "mol",
    "aluminium": "mol",
    "calcium": "mol",
    "carbonate": "mol",
    "strong": "mol",  # net charge of strong ions not followed by name (potassium, sodium ...)
    "gum": "g",  # dissolved
    "gum_coil": "dl",  # intrinsic viscosity times dissolved gum, summed over gums
    "gel": "g",  # dry mass of gum that swells and does not dissolve
    "insolubles": "g",
}
#: Less than this of anything (g, ml, mol) is nothing: it only keeps a division finite.
NOTHING: Final = 1e-9


@functools.cache
def _nothing(n: int) -> Array:
    out = np.zeros(n)
    out.setflags(write=False)
    return out


@attrs.frozen(eq=False)
class Liquor:
    """Amounts of every substance in a mixture.

    Liquors are never changed, so that one made from another shares the rows
    that stayed as they were: a spoonful of water poured into an ink makes new
    arrays for water and its hardness only.

    Parameters
    ----------
    rows : mapping of str to ndarray
        One contiguous ``(N,)`` array a substance that may be there; those of
        `SUBSTANCES` without a row are nowhere. Read by name:
        ``liquor["gallic"]`` is ``(N,)``, zeros where there is none.
    n : int
        The number of draws.
    """

    rows: Mapping[str, Array]
    n: int

    @classmethod
    def empty(cls, n: int) -> Liquor:
        """Return a liquor of nothing, for ``n`` draws."""
        return cls({}, n)

    @classmethod
    def of(cls, n: int, **amounts: Array | float) -> Liquor:
        """Return a liquor with the named amounts and nothing else."""
        rows = {name: a if isinstance(a, np.ndarray) else np.full(n, a) for name, a in amounts.items()}
        unknown = rows.keys() - SUBSTANCES.keys()
        if unknown:
            raise KeyError(*unknown)
        return cls(rows, n)

    @property
    def amounts(self) -> Array:
        """Return all amounts as one array, (S, N), rows in the order of `SUBSTANCES`."""
        return np.stack([self[name] for name in SUBSTANCES])

    def __getitem__(self, name: str) -> Array:
        row = self.rows.get(name)
        return _nothing(self.n) if row is None else row

    def has(self, *names: str) -> bool:
        """Say whether any of these substances may be there."""
        return not self.rows.keys().isdisjoint(names)

    def __add__(self, other: Liquor) -> Liquor:
        rows = dict(self.rows)
        for name, row in other.rows.items():
            mine = rows.get(name)
            rows[name] = row if mine is None else mine + row
        return Liquor(rows, self.n)

    def __sub__(self, other: Liquor) -> Liquor:
        rows = dict(self.rows)
        for name, row in other.rows.items():
            mine = rows.get(name)
            rows[name] = -row if mine is None else mine - row
        return Liquor(rows, self.n)

    def __mul__(self, share: Array | float) -> Liquor:
        return Liquor({name: row * share for name, row in self.rows.items()}, self.n)

    def changed(self, **amounts: Array) -> Liquor:
        """Return a liquor in which the named amounts are replaced."""
        return Liquor({**self.rows, **amounts}, self.n)

    def only(self, *names: str) -> Liquor:
        """Return the named substances alone."""
        return Liquor({name: row for name, row in self.rows.items() if name in names}, self.n)

    def columns(self, picks: NDArray[np.intp]) -> Liquor:
        """Return the liquor for some of its draws."""
        return Liquor({name: row[picks] for name, row in self.rows.items()}, len(picks))

    def weighed(self, weights: Mapping[str, float]) -> Array:
        """Return the sum of all amounts, each times its weight, (N,)."""
        out = np.zeros(self.n)
        for name, row in self.rows.items():
            weight = weights.get(name)
            if weight:
                out += row * weight
        return out


@functools.cache
def mass_weights() -> Mapping[str, float]:
    """Return the grams that one unit of each substance weighs.

    ``strong`` is weighed as potassium and ``carbonate`` as bicarbonate; the
    phenol groups of the complex weigh what the tannin that brought them
    weighs; the coil volume and the brown colour are properties of what is
    weighed already.
    """
    grams = {name: 1.0 if unit == "g" else 0.0 for name, unit in SUBSTANCES.items()}
    grams |= dict.fromkeys(("iron2", "iron3", "complex_iron"), molar_mass("Fe"))
    grams |= {
        "acetate": molar_mass("C2H4O2"),
        "sulfate": molar_mass("SO4"),
        "chloride": molar_mass("Cl"),
        "aluminium": molar_mass("Al"),
        "calcium": molar_mass("Ca"),
        "carbonate": molar_mass("HCO3"),
        "strong": molar_mass("K"),
        "complex_pyrogallol": 1.0 / value("binding.groups.gallotannin"),
        "complex_catechol": 1.0 / value("binding.groups.condensed"),
    }
    return MappingProxyType(grams)
