"""Iron from sulfides and from metal: pyrite, free acid and iron, vinegar.

Stoichiometry: FeS2 + 3.5 O2 + H2O -> Fe2+ + 2 SO4-2 + 2 H+, and
Fe + 2 H+ -> Fe2+ + H2. Amounts are mol, ``(N,)``.
"""

from __future__ import annotations

import attrs
import numpy as np
from scipy import constants

from inkhorn.chemistry.arrays import Array, Floats, floats


@attrs.frozen(kw_only=True)
class Leached:
    """What weathered sulfide gives to the water, mol."""

    iron: Array
    sulfate: Array
    protons: Array
    ochre: Array  # iron lost as ferric hydroxide and hydroxysulfates


def leached(sulfide: Floats, *, lost: Floats) -> Leached:
    """Products of oxidised FeS2, part of its iron lost as ochre.

    Ochre takes no sulfate here and sets free two protons more per iron
    (Fe2+ + 1/4 O2 + 5/2 H2O -> Fe(OH)3 + 2 H+), so charge is conserved:
    2 iron + protons = 2 sulfate.

    Parameters
    ----------
    sulfide : array_like
        FeS2 oxidised, mol.
    lost : array_like
        Share of its iron lost as ochre, 0-1.

    Returns
    -------
    Leached
        Iron, sulfate, protons in solution; ochre.
    """
    n, gone = np.broadcast_arrays(floats(sulfide), floats(lost))
    return Leached(iron=n * (1 - gone), sulfate=2 * n, protons=2 * n * (1 + gone), ochre=n * gone)


def weathered(seconds: Floats, *, rate: Floats, lag: Floats) -> Array:
    """Share of a sulfide oxidised: nothing before the lag, then first order.

    Parameters
    ----------
    seconds : array_like
        s.
    rate : array_like
        1/s.
    lag : array_like
        s.

    Returns
    -------
    ndarray
        Share, 0-1.
    """
    active = np.maximum(floats(seconds) - lag, 0)
    return np.asarray(-np.expm1(-floats(rate) * active))


def oxygen_rate(
    *, log_rate: Floats, oxygen: Floats, ph: Floats, order: Floats, proton_order: Floats
) -> Array:
    r"""Oxidation of pyrite by dissolved oxygen alone.

    .. math:: r = 10^{a}\,[O_2]^{m}\,[H^+]^{n}

    Parameters
    ----------
    log_rate : array_like
        ``a`` (row ``iron.weathering.abiotic_log``).
    oxygen : array_like
        mol/kg.
    ph : array_like
        pH.
    order, proton_order : array_like
        ``m`` and ``n`` (rows ``iron.weathering``).

    Returns
    -------
    ndarray
        mol FeS2 per m^2 and s.

    Notes
    -----
    Williamson and Rimstidt, Geochimica et Cosmochimica Acta 58:5443, 1994.
    """
    return np.asarray(10 ** (floats(log_rate) - floats(proton_order) * ph) * floats(oxygen) ** order)


def ferric_rate(
    *, log_rate: Floats, ferric: Floats, ferrous: Floats, ferric_order: Floats, ferrous_order: Floats
) -> Array:
    """Oxidation of pyrite by iron(III), bacteria at work; mol FeS2 per m^2 and s, mol/kg in.

    The same paper as `oxygen_rate`.

    Parameters
    ----------
    log_rate : array_like
        log10 of the constant (row ``iron.weathering.ferric_log``).
    ferric, ferrous : array_like
        Fe3+ and Fe2+, mol/kg.
    ferric_order, ferrous_order : array_like
        Their orders (rows ``iron.weathering``).

    Returns
    -------
    ndarray
        mol FeS2 per m^2 and s.
    """
    return np.asarray(
        10 ** floats(log_rate) * floats(ferric) ** ferric_order * floats(ferrous) ** ferrous_order
    )


@attrs.frozen(kw_only=True)
class Neutralised:
    """Free acid met by metallic iron, mol."""

    iron_dissolved: Array
    acid_left: Array
    hydrogen: Array


def neutralised(acid: Floats, iron: Floats, *, seconds: Floats, rate: Floats) -> Neutralised:
    """Metallic iron dissolving in free acid: Fe + 2 H+ -> Fe2+ + H2.

    First order in the acid, never more than the iron there is.

    Parameters
    ----------
    acid, iron : array_like
        Free H+ and metallic iron, mol.
    seconds : array_like
        s; infinity for "until it stops".
    rate : array_like
        1/s.

    Returns
    -------
    Neutralised
        Iron dissolved, acid left, hydrogen made.
    """
    free = np.maximum(floats(acid), 0)
    used = np.minimum(free * -np.expm1(-floats(rate) * floats(seconds)), 2 * floats(iron))
    return Neutralised(iron_dissolved=used / 2, acid_left=floats(acid) - used, hydrogen=used / 2)


def hydrogen_volume(moles: Floats, temperature: Floats, pressure: Floats = constants.atm) -> Array:
    """Litres of gas that some moles of hydrogen fill (ideal gas; K, Pa).

    Parameters
    ----------
    moles : array_like
        mol.
    temperature : array_like
        K.
    pressure : array_like, optional
        Pa.

    Returns
    -------
    ndarray
        L.
    """
    return np.asarray(floats(moles) * constants.R * floats(temperature) / pressure * 1000)


def surface_share_rate(rate: Floats, *, surface: Floats, molar_mass: float) -> Array:
    """Share of a sulfide's mass oxidised per second.

    Parameters
    ----------
    rate : array_like
        mol per m^2 and s.
    surface : array_like
        m^2 per kg.
    molar_mass : float
        g/mol.

    Returns
    -------
    ndarray
        1/s.
    """
    return np.asarray(floats(rate) * floats(surface) * molar_mass / 1000)
