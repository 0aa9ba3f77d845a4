"""Density scales, the gravity of liquors, and the volume of a mixture."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.handbook.load import value


def barkometer(gravity: Floats) -> Array:
    """Degrees Barkometer (the same number as Oechsle): 1000 (SG - 1), the tanner's scale [BLAIR1944]_.

    Parameters
    ----------
    gravity : array_like
        Specific gravity.

    Returns
    -------
    ndarray
        Degrees.
    """
    return np.asarray(1000 * (floats(gravity) - 1))


def from_barkometer(degrees: Floats) -> Array:
    """Specific gravity of a reading in degrees Barkometer.

    Parameters
    ----------
    degrees : array_like
        Degrees Barkometer.

    Returns
    -------
    ndarray
        Specific gravity.
    """
    return np.asarray(1 + floats(degrees) / 1000)


def twaddell(gravity: Floats) -> Array:
    """Degrees Twaddell: 200 (SG - 1).

    Parameters
    ----------
    gravity : array_like
        Specific gravity.

    Returns
    -------
    ndarray
        Degrees.
    """
    return np.asarray(2 * 100 * (floats(gravity) - 1))


def from_twaddell(degrees: Floats) -> Array:
    """Specific gravity of a reading in degrees Twaddell.

    Parameters
    ----------
    degrees : array_like
        Degrees Twaddell.

    Returns
    -------
    ndarray
        Specific gravity.
    """
    return np.asarray(1 + floats(degrees) / (2 * 100))


_BAUME = 145  # numbers-in-code: Baume scale for liquids heavier than water, modulus 145


def baume(gravity: Floats) -> Array:
    """Degrees Baume, heavy liquids, American modulus: 145 - 145/SG.

    Parameters
    ----------
    gravity : array_like
        Specific gravity.

    Returns
    -------
    ndarray
        Degrees.
    """
    return np.asarray(_BAUME - _BAUME / floats(gravity))


def from_baume(degrees: Floats) -> Array:
    """Specific gravity of a reading in degrees Baume (heavy).

    Parameters
    ----------
    degrees : array_like
        Degrees Baume.

    Returns
    -------
    ndarray
        Specific gravity.
    """
    return np.asarray(_BAUME / (_BAUME - floats(degrees)))


def plato(gravity: Floats) -> Array:
    """Degrees Plato (Brix) by the usual cubic; coefficients are the rows ``density.plato``.

    Parameters
    ----------
    gravity : array_like
        Specific gravity 20/20, 1.00 to about 1.2.

    Returns
    -------
    ndarray
        g of sugar-like solids in 100 g.
    """
    s = floats(gravity)
    c0, c1, c2, c3 = (value(f"density.plato.c{i}") for i in range(4))
    return np.asarray(c0 + s * (c1 + s * (c2 + s * c3)))


def from_plato(degrees: Floats) -> Array:
    """Specific gravity of a Plato reading: Newton on `plato` (its slope is never small for SG 1-1.4).

    Parameters
    ----------
    degrees : array_like
        Degrees Plato.

    Returns
    -------
    ndarray
        Specific gravity 20/20.
    """
    p = floats(degrees)
    c1, c2, c3 = (value(f"density.plato.c{i}") for i in (1, 2, 3))
    s = 1 + p / (2 * 100)
    for _ in range(12):
        s = s - (plato(s) - p) / (c1 + s * (2 * c2 + 3 * c3 * s))
    return np.asarray(s)


def specific_gravity_from_solids(solids: Floats, specific_volume: Floats, water_density: Floats = 1) -> Array:
    r"""Specific gravity of a solution of a mass fraction of solids.

    .. math:: SG = \frac{1}{\rho_w\left(\frac{1-w}{\rho_w} + w v\right)}

    Parameters
    ----------
    solids : array_like
        Mass fraction ``w``, 0-1.
    specific_volume : array_like
        Apparent specific volume ``v`` of the solids, ml/g.
    water_density : array_like, optional
        g/ml at the same temperature.

    Returns
    -------
    ndarray
        Specific gravity against water of the same temperature.
    """
    w = floats(solids)
    return np.asarray(1 / (1 - w + floats(water_density) * w * floats(specific_volume)))


def solids_from_specific_gravity(
    gravity: Floats, specific_volume: Floats, water_density: Floats = 1
) -> Array:
    """Mass fraction of solids that gives a gravity: the inverse of `specific_gravity_from_solids`.

    Parameters
    ----------
    gravity : array_like
        Specific gravity against water of the same temperature.
    specific_volume : array_like
        Apparent specific volume of the solids, ml/g.
    water_density : array_like, optional
        g/ml.

    Returns
    -------
    ndarray
        Mass fraction, 0-1.
    """
    return np.asarray((1 - 1 / floats(gravity)) / (1 - floats(water_density) * floats(specific_volume)))


def vitriol_gravity(percent: Floats) -> Array:
    """Specific gravity 15/15 of green vitriol solution.

    Parameters
    ----------
    percent : array_like
        FeSO4.7H2O in 100 g of solution, 0-40.

    Returns
    -------
    ndarray
        Specific gravity; rows ``density.vitriol``.
    """
    p = floats(percent)
    return np.asarray(1 + p * (value("density.vitriol.linear") + p * value("density.vitriol.quadratic")))


def water_density(temperature: Floats) -> Array:
    """Density of air-free water at one atmosphere, 0-100 C.

    Parameters
    ----------
    temperature : array_like
        K.

    Returns
    -------
    ndarray
        g/ml.

    Notes
    -----
    Kell, Journal of Chemical and Engineering Data 20:97-105, 1975; checked
    against IAPWS-95 in ``tests/published/test_chemistry_density.py``.
    """
    t = floats(temperature) - 273.15
    # numbers-in-code: Kell 1975, density of water from 0 to 150 C
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return np.asarray(top / (1 + 16.879850e-3 * t) / 1000)  # numbers-in-code: Kell 1975


def liquor_volume(
    *,
    water: Floats,
    ethanol: Floats = 0,
    acetic: Floats = 0,
    solids: Floats = 0,
    salts: Floats = 0,
    gum: Floats = 0,
    temperature: Floats,
    ethanol_volume: Floats | None = None,
    acetic_volume: Floats | None = None,
    solids_volume: Floats | None = None,
    salts_volume: Floats | None = None,
    gum_volume: Floats | None = None,
) -> Array:
    r"""Volume of a mixture from apparent specific volumes.

    .. math:: V = m_w/\rho_w(T) + \sum_i m_i v_i

    Parameters
    ----------
    water, ethanol, acetic, solids, salts, gum : array_like
        g; ``salts`` counted as anhydrous FeSO4, ``solids`` = tannins and other
        dissolved matter.
    temperature : array_like
        K.
    ethanol_volume, acetic_volume, solids_volume, salts_volume, gum_volume : array_like, optional
        Apparent specific volumes, ml/g; the rows ``density.specific_volume`` if not given.

    Returns
    -------
    ndarray
        ml.

    Notes
    -----
    Ethanol contracts on mixing by up to 3.5 %; the apparent volume used holds
    for the dilute side (below about 20 % by volume), which is where wine lies.
    """
    volume = floats(water) / water_density(temperature)
    for mass, given, name in (
        (ethanol, ethanol_volume, "ethanol"),
        (acetic, acetic_volume, "acetic"),
        (solids, solids_volume, "solids"),
        (salts, salts_volume, "vitriol"),
        (gum, gum_volume, "gum"),
    ):
        v = value(f"density.specific_volume.{name}") if given is None else given
        volume = volume + floats(mass) * v
    return np.asarray(volume)
