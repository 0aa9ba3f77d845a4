"""Steeping: washing, first-order and Peleg curves, repeated soaks, hydrolysis.

Rates grow with temperature after Arrhenius; what the marc gives up in one
well-stirred soak follows from a partition between solid and liquor.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from scipy.constants import R as GAS_CONSTANT

from inkhorn.chemistry.arrays import Array, Floats, floats, ratio


def arrhenius(rate: Floats, energy: Floats, temperature: Floats, reference: Floats) -> Array:
    r"""Carry a rate from the reference temperature to another.

    .. math:: k(T) = k_{ref} \exp\left[-\frac{E_a}{R}\left(\frac1T - \frac1{T_{ref}}\right)\right]

    Parameters
    ----------
    rate : array_like
        Rate at the reference temperature, any unit.
    energy : array_like
        Activation energy, J/mol.
    temperature, reference : array_like
        Kelvin.

    Returns
    -------
    ndarray
        Rate at ``temperature``, unit of ``rate``.

    Notes
    -----
    The gas constant is that of [CODATA2018]_. Checked in
    ``tests/published/test_chemistry_extraction.py``.
    """
    inverse = 1 / floats(temperature) - 1 / floats(reference)
    return np.asarray(floats(rate) * np.exp(-floats(energy) / GAS_CONSTANT * inverse))


def released(washing: Floats, rate: Floats, seconds: Floats) -> Array:
    r"""Share of the extractable matter that has left the marc.

    .. math:: F(t) = 1 - (1 - w)\,e^{-kt}

    Parameters
    ----------
    washing : array_like
        Share that rinses off at once, 0-1.
    rate : array_like
        First-order rate of the slow stage, 1/s.
    seconds : array_like
        Time, s.

    Returns
    -------
    ndarray
        Share released, 0-1.

    Notes
    -----
    The two-stage form fits grape-seed polyphenols from 25 to 80 C
    (Bucic-Kojic et al., Food Chemistry 136:1136, 2013).
    """
    decay = np.exp(-floats(rate) * floats(seconds))
    return np.asarray(1 - (1 - floats(washing)) * decay)


def slow_rate(diffusivity: Floats, radius: Floats) -> Array:
    r"""First-order rate of the slow stage from diffusion out of a sphere.

    .. math:: k = \pi^2 D / a^2

    The slowest term of the sphere's series (Crank 1975, eq. 6.20): what is
    left after the washing stage falls off at this rate.

    Parameters
    ----------
    diffusivity : array_like
        Effective diffusivity, m^2/s.
    radius : array_like
        Equivalent radius of the pieces, m.

    Returns
    -------
    ndarray
        Rate, 1/s.
    """
    return np.asarray(np.pi**2 * floats(diffusivity) / floats(radius) ** 2)


def extractable(
    temperature: Floats,
    *,
    cold: Floats,
    hot: Floats,
    cold_temperature: Floats,
    hot_temperature: Floats,
) -> Array:
    """Share of the total tannin that a steep can reach at a temperature.

    Linear in logit between a cold and a hot steep, so that it stays inside 0-1.

    Parameters
    ----------
    temperature : array_like
        Temperature of the steep, K.
    cold, hot : array_like
        Extractable share of a cold and of a hot steep, 0-1.
    cold_temperature, hot_temperature : array_like
        The temperatures those two refer to, K.

    Returns
    -------
    ndarray
        Share, 0-1.
    """
    low, high = floats(cold), floats(hot)
    start, end = np.log(low / (1 - low)), np.log(high / (1 - high))
    along = (floats(temperature) - cold_temperature) / (floats(hot_temperature) - cold_temperature)
    return np.asarray(1 / (1 + np.exp(-(start + (end - start) * along))))


def drawn_share(ratio: Floats, *, competes: Floats, reference: Floats) -> Array:
    r"""Factor on what a steep can reach, for water in another proportion than that of reference.

    Partition equilibrium: dry matter competes for what is soluble in it as so much water would.

    .. math:: f(r) = \frac{r}{r + K} \cdot \frac{r_0 + K}{r_0}

    Parameters
    ----------
    ratio : array_like
        Water over dry matter, g/g.
    competes : array_like
        K, water that a gram of dry matter competes with, g/g.
    reference : array_like
        r0, where the factor is 1, g/g, > 0.

    Returns
    -------
    ndarray
        Factor, from 0 without water to 1 + K / r0 in a river.
    """
    water, held, usual = floats(ratio), floats(competes), floats(reference)
    return np.asarray(water / np.maximum(water + held, 1e-12) * (usual + held) / usual)


def peleg(t: Floats, k1: Floats, k2: Floats) -> Array:
    r"""Peleg's two-constant extraction curve.

    .. math:: C(t) = \frac{t}{K_1 + K_2 t}

    Parameters
    ----------
    t : array_like
        Time, any unit.
    k1 : array_like
        Inverse initial rate, time per yield.
    k2 : array_like
        Inverse final yield, > 0.

    Returns
    -------
    ndarray
        Yield at ``t``; 1/K1 is the initial rate and 1/K2 the final yield.
    """
    time = floats(t)
    return np.asarray(time / (floats(k1) + floats(k2) * time))


@attrs.frozen(kw_only=True)
class Soak:
    """What one soak leaves: all ``(N,)``; grams, millilitres, grams per millilitre."""

    concentration: Array  # of the liquor as it drains, g/ml
    drained: Array  # solute carried off, g
    drained_liquor: Array  # liquor carried off, ml
    left: Array  # extractable still in the marc and its held liquor, g


def soak(available: Floats, *, added: Floats, carried: Floats, holds: Floats, share: Floats = 1) -> Soak:
    r"""One soak of a marc, stirred long, then drained.

    .. math:: c = \frac{f\,m}{V_{added} + V_{carried}}, \qquad
              m_{drained} = (V_{added} + V_{carried} - V_{holds})\,c

    Parameters
    ----------
    available : array_like
        Extractable solute in marc plus held liquor, g.
    added, carried : array_like
        Liquid poured on, and held from the soak before, ml.
    holds : array_like
        Liquid the drained marc keeps, ml.
    share : array_like, optional
        Share of what is available that is in the liquor at the end (1: free
        partition and time enough).

    Returns
    -------
    Soak
        Concentration, what drained, what is left.
    """
    total = floats(added) + floats(carried)
    drains = np.maximum(total - holds, 0)
    concentration = ratio(floats(share) * floats(available), total)
    off = drains * concentration
    return Soak(concentration=concentration, drained=off, drained_liquor=drains, left=floats(available) - off)


def soaks(
    available: Floats, *, added: Sequence[Floats], holds: Floats, share: Floats = 1
) -> tuple[Soak, ...]:
    """Several soaks of one marc after another, dry at the start.

    Parameters
    ----------
    available : array_like
        Extractable solute in the dry marc, g.
    added : sequence of array_like
        Liquid poured on at each soak, ml.
    holds, share : array_like
        As in `soak`.

    Returns
    -------
    tuple of Soak
        One a soak, in order.
    """
    out: list[Soak] = []
    left, carried = floats(available), floats(0)
    for amount in added:
        done = soak(left, added=amount, carried=carried, holds=holds, share=share)
        carried = floats(amount) + carried - done.drained_liquor
        left = done.left
        out.append(done)
    return tuple(out)


def decayed(rate: Floats, seconds: Floats) -> Array:
    r"""Share changed by a first-order loss, :math:`1 - e^{-kt}`.

    Parameters
    ----------
    rate : array_like
        1/s.
    seconds : array_like
        s.

    Returns
    -------
    ndarray
        Share changed, 0-1; exact for small ``rate * seconds``.
    """
    return np.asarray(-np.expm1(-floats(rate) * floats(seconds)))


@attrs.frozen(kw_only=True)
class Hydrolysed:
    """What gallotannin gives when its esters open; grams, ``(N,)``."""

    gallotannin: Array
    gallic: Array
    sugar: Array
    water: Array  # taken up


def hydrolyse(gallotannin: Floats, share: Floats, *, masses: tuple[float, float, float, float]) -> Hydrolysed:
    """Turn a share of gallotannin into gallic acid and glucose.

    C76H52O46 + 10 H2O -> 10 C7H6O5 + C6H12O6; galloyl groups are conserved.

    Parameters
    ----------
    gallotannin : array_like
        g.
    share : array_like
        Share that opens, 0-1.
    masses : tuple of float
        Molar masses of gallotannin, gallic acid, glucose and water, g/mol.

    Returns
    -------
    Hydrolysed
        What is left and what came of it.
    """
    tannin, gallic, sugar, water = masses
    opened = floats(gallotannin) * floats(share)
    moles = opened / tannin
    return Hydrolysed(
        gallotannin=floats(gallotannin) - opened,
        gallic=10 * gallic * moles,
        sugar=sugar * moles,
        water=10 * water * moles,
    )
