"""Which solids a solved liquor would let fall: saturation indices."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.activity import davies, debye_huckel, log_gamma
from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.chemistry.equilibria import fitted_shift, handbook_equilibria, side
from inkhorn.chemistry.speciation import Speciation
from inkhorn.errors import HandbookError
from inkhorn.handbook.load import group, rows, value

MINERALS = ("gypsum", "calcite", "melanterite", "ferric_hydroxide", "siderite")


# numbers-in-code: 25 degrees Celsius, at which constants are tabulated
def log_activity(solved: Speciation, species: str, *, temperature: Floats = 25 + 273.15) -> Array:
    """Return log10 of the activity of one species of a solved liquor.

    Parameters
    ----------
    solved : Speciation
        From `solve`.
    species : str
        A species, or ``"H2O"``.
    temperature : array_like, optional
        K, as it was solved at.

    Returns
    -------
    ndarray
        log10; minus infinity where there is none of it.
    """
    system = handbook_equilibria()
    if species == "H2O":
        total = sum(solved.species.values(), start=np.zeros(np.shape(solved.ph)))
        return np.asarray(np.log10(1 - system.water_activity * total))
    i = system.species.index(species)
    a, b = debye_huckel(temperature)
    strength = np.minimum(solved.ionic_strength, system.limit)
    if system.kind[i] == 0:
        gamma = log_gamma(
            system.charges[i], strength, a=a, b=b, ion_size=system.ion_size[i], linear=system.linear[i]
        )
    elif system.kind[i] == 1:
        gamma = davies(system.charges[i], strength, a=a, linear=system.davies)
    else:
        gamma = np.asarray(system.salting * strength)
    there = floats(solved.species[species])
    logs = np.full(there.shape, -np.inf)
    np.log10(there, out=logs, where=there > 0)
    return np.asarray(logs + gamma)


# numbers-in-code: 25 degrees Celsius, at which constants are tabulated
def saturation_index(solved: Speciation, mineral: str, *, temperature: Floats = 25 + 273.15) -> Array:
    r"""Return log10 of the ion activity product over its value at saturation.

    .. math:: SI = \sum_s \nu_s \log a_s - \log K(T)

    Parameters
    ----------
    solved : Speciation
        From `solve`.
    mineral : str
        One of ``MINERALS``.
    temperature : array_like, optional
        K, as it was solved at.

    Returns
    -------
    ndarray
        Above 0 the solid can form, below 0 it dissolves; minus infinity where
        a part of it is missing.

    Raises
    ------
    HandbookError
        For a mineral that the handbook does not have.

    Notes
    -----
    Checked against PHREEQC in ``tests/published/test_chemistry_speciation.py``.
    Melanterite is under-predicted by the database: reckon crystals with
    `hydrates.crystal_yield`.
    """
    if mineral not in MINERALS:
        raise HandbookError(
            f"there is no mineral {mineral!r}",
            where="speciation.minerals",
            mend=f"Known: {', '.join(MINERALS)}",
        )
    name = f"speciation.minerals.{mineral}"
    left, _, right = str(group(name)["reaction"]).partition("=")
    product = np.zeros(np.shape(solved.ph))
    for species, n in side(right).items():
        product = product + n * log_activity(solved, species, temperature=temperature)
    for species, n in side(left).items():
        if species != mineral:
            product = product - n * log_activity(solved, species, temperature=temperature)
    enthalpy = value(f"{name}.enthalpy") * 1000 if f"{name}.enthalpy" in rows() else 0.0
    constant = value(f"{name}.log_k") + fitted_shift(mineral, floats(temperature), enthalpy=enthalpy)
    return np.asarray(product - constant)
