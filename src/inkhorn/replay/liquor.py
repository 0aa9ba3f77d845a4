"""The liquor: how much of each substance a vessel holds, for every draw at once."""

from __future__ import annotations

import functools
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
    "solids": "g",  # other dissolved matter of a plant or a wine, brown
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

_ROW: Final[dict[str, int]] = {name: i for i, name in enumerate(SUBSTANCES)}


def index(name: str) -> int:
    """Return the row of a substance in ``Liquor.amounts``."""
    return _ROW[name]


@attrs.frozen(eq=False)
class Liquor:
    """Amounts of every substance in a mixture.

    Parameters
    ----------
    amounts : ndarray, shape (S, N)
        One contiguous row a substance (order of `SUBSTANCES`), one column a
        draw. Rows are read by name: ``liquor["gallic"]`` is ``(N,)``.
    """

    amounts: Array

    @classmethod
    def empty(cls, n: int) -> Liquor:
        """Return a liquor of nothing, for ``n`` draws."""
        return cls(np.zeros((len(SUBSTANCES), n)))

    @classmethod
    def of(cls, n: int, **amounts: Array | float) -> Liquor:
        """Return a liquor with the named amounts and nothing else."""
        out = np.zeros((len(SUBSTANCES), n))
        for name, amount in amounts.items():
            out[_ROW[name]] = amount
        return cls(out)

    @property
    def n(self) -> int:
        """Return the number of draws."""
        return int(self.amounts.shape[1])

    def __getitem__(self, name: str) -> Array:
        return self.amounts[_ROW[name]]

    def __add__(self, other: Liquor) -> Liquor:
        return Liquor(self.amounts + other.amounts)

    def __sub__(self, other: Liquor) -> Liquor:
        return Liquor(self.amounts - other.amounts)

    def __mul__(self, share: Array | float) -> Liquor:
        return Liquor(self.amounts * share)

    def changed(self, **amounts: Array) -> Liquor:
        """Return a copy in which the named amounts are replaced."""
        out = self.amounts.copy()
        for name, amount in amounts.items():
            out[_ROW[name]] = amount
        return Liquor(out)


@functools.cache
def mass_weights() -> Array:
    """Return the grams that one unit of each substance weighs, shape (S,).

    ``strong`` is weighed as potassium and ``carbonate`` as bicarbonate; the
    phenol groups of the complex weigh what the tannin that brought them
    weighs; the coil volume is a property of the gum and weighs nothing.
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
    return np.array([grams[name] for name in SUBSTANCES])
