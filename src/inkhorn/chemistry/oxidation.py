"""Iron(II) turning to iron(III) in air: in water, and in an open pot."""

from __future__ import annotations

import numpy as np
from scipy.special import wrightomega

from inkhorn.chemistry.arrays import Array, Floats, floats

_LN_2 = np.log(2)


def oxygenation_rate(ph: Floats, *, constant: Floats, oxygen: Floats, ion_product: Floats = 1e-14) -> Array:
    r"""Pseudo-first-order rate of the oxygenation of iron(II) near neutral.

    .. math:: k_1 = k\,[OH^-]^2\,p_{O_2}

    Parameters
    ----------
    ph : array_like
        pH, 5-8; below 5 the law dies out into an acid plateau.
    constant : array_like
        L^2/mol^2/atm/min.
    oxygen : array_like
        Partial pressure of oxygen, atm.
    ion_product : array_like, optional
        Ion product of water.

    Returns
    -------
    ndarray
        1/s.

    Notes
    -----
    Stumm and Lee, Industrial and Engineering Chemistry 53:143, 1961.
    """
    hydroxide = floats(ion_product) * 10 ** floats(ph)
    return np.asarray(floats(constant) * hydroxide**2 * oxygen / 60)


def half_life(rate: Floats) -> Array:
    """Half-life, s, of a first-order rate, 1/s.

    Parameters
    ----------
    rate : array_like
        1/s.

    Returns
    -------
    ndarray
        s.
    """
    return np.asarray(_LN_2 / floats(rate))


def iron2_left(iron2: Floats, seconds: Floats, *, rate: Floats, supply: Floats) -> Array:
    r"""Iron(II) left in a pot whose oxidation is first order or short of air.

    The chemical rate ``k F`` and the supply ``J`` act in series,

    .. math:: -\frac{dF}{dt} = \frac{kF\,J}{kF + J},

    which has the closed solution :math:`u + \ln u = u_0 + \ln u_0 - kt`,
    :math:`u = kF/J` (Wright's omega function).

    Parameters
    ----------
    iron2 : array_like
        Iron(II) at the start, mol.
    seconds : array_like
        s.
    rate : array_like
        First-order rate with air in plenty, 1/s.
    supply : array_like
        Iron that the air getting in can oxidise, mol/s.

    Returns
    -------
    ndarray
        Iron(II) left, mol, between 0 and ``iron2``.
    """
    f, t, k, j = np.broadcast_arrays(floats(iron2), floats(seconds), floats(rate), floats(supply))
    active = (f > 0) & (k > 0) & (j > 0) & (t > 0)
    u0 = np.where(active, k * f, 1) / np.where(active, j, 1)
    omega = np.real(wrightomega(u0 + np.log(u0) - np.where(active, k * t, 0)))
    left = np.where(active, omega * np.where(active, j, 0) / np.where(active, k, 1), f)
    return np.asarray(np.clip(left, 0, f))


def oxygen_supply(area: Floats, *, transfer: Floats, saturation: Floats) -> Array:
    """Iron that the oxygen crossing a still surface can oxidise.

    Four iron(II) take one O2.

    Parameters
    ----------
    area : array_like
        Open surface, m^2.
    transfer : array_like
        Transfer coefficient, m/s.
    saturation : array_like
        Dissolved oxygen at saturation, mol/L.

    Returns
    -------
    ndarray
        mol/s.
    """
    return np.asarray(4 * floats(area) * transfer * floats(saturation) * 1000)
