"""Free iron and acid: what endangers the support, and the chalk that meets it."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats, ratio


def free_iron(iron: Floats, held: Floats) -> Array:
    """Iron that no phenol holds, unit of the arguments; never negative.

    Parameters
    ----------
    iron, held : array_like
        All the iron, and what phenols hold; same unit.

    Returns
    -------
    ndarray
        The rest.
    """
    return np.asarray(np.maximum(floats(iron) - floats(held), 0))


def free_share(iron: Floats, held: Floats) -> Array:
    """Free iron over all iron, 0-1; 0 where there is no iron.

    Parameters
    ----------
    iron, held : array_like
        All the iron, and what phenols hold; same unit.

    Returns
    -------
    ndarray
        0-1.
    """
    return ratio(free_iron(iron, held), iron)


def acid_per_area(film: Floats, *, iron: Floats, protons: Floats, free_acid: Floats = 0) -> Array:
    """Acid that a wet film brings to the support.

    Parameters
    ----------
    film : array_like
        Wet film, ml/m^2 (the same number as its thickness in um).
    iron : array_like
        Iron that will bind, mol/L.
    protons : array_like
        H+ set free per iron (row ``binding.protons``).
    free_acid : array_like, optional
        Acid there already, mol/L.

    Returns
    -------
    ndarray
        mol H+ per m^2.
    """
    return np.asarray(floats(film) * (floats(iron) * protons + free_acid) / 1000)


def chalk_needed(acid: Floats, *, molar_mass: float) -> Array:
    """Chalk that meets an amount of acid: CaCO3 + 2 H+ -> Ca2+ + CO2 + H2O.

    Parameters
    ----------
    acid : array_like
        mol H+ (or per m^2).
    molar_mass : float
        Of CaCO3, g/mol.

    Returns
    -------
    ndarray
        g (or per m^2).
    """
    return np.asarray(floats(acid) / 2 * molar_mass)


def chalk_reserve(*, areal_mass: Floats, chalk: Floats, needed: Floats) -> Array:
    """How many times over the support's chalk meets the acid.

    Parameters
    ----------
    areal_mass : array_like
        Mass of the support, g/m^2.
    chalk : array_like
        Mass share of CaCO3 in it.
    needed : array_like
        g CaCO3 per m^2 (`chalk_needed`).

    Returns
    -------
    ndarray
        Times; infinite where nothing is needed.
    """
    has = floats(areal_mass) * floats(chalk)
    need = np.broadcast_to(floats(needed), np.broadcast_shapes(has.shape, floats(needed).shape))
    return np.asarray(np.where(need > 0, ratio(has, need), np.inf))
