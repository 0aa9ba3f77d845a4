"""Boiling down: heat of evaporation, heat and time needed, what goes off."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats, ratio
from inkhorn.handbook.load import value


def latent_heat(temperature: Floats, *, anchors: tuple[float, float, float] | None = None) -> Array:
    """Latent heat of evaporation of water.

    The parabola through the steam-table values at 0, 50 and 100 C; within
    0.1 % of IAPWS-IF97 from 0 to 110 C.

    Parameters
    ----------
    temperature : array_like
        K.
    anchors : tuple of float, optional
        Values at 0, 50 and 100 C, J/g; the handbook's if not given.

    Returns
    -------
    ndarray
        J/g.
    """
    at_0, at_50, at_100 = anchors or _anchors()
    u = (floats(temperature) - 273.15) / 100
    return np.asarray(at_0 * (2 * u - 1) * (u - 1) + at_50 * 4 * u * (1 - u) + at_100 * u * (2 * u - 1))


def _anchors() -> tuple[float, float, float]:
    return (
        value("boiling.latent_heat.at_0"),
        value("boiling.latent_heat.at_50"),
        value("boiling.latent_heat.at_100"),
    )


def heat_capacity(solids: Floats, *, water: Floats, drop: Floats) -> Array:
    """Heat capacity of a liquor, J/g/K.

    Parameters
    ----------
    solids : array_like
        Mass fraction of dissolved solids, 0-1.
    water : array_like
        Heat capacity of water, J/g/K.
    drop : array_like
        Fall per unit mass fraction of solids, J/g/K.

    Returns
    -------
    ndarray
        J/g/K.
    """
    return np.asarray(floats(water) - floats(drop) * floats(solids))


def energy_to_boil_off(
    *,
    mass: Floats,
    evaporate: Floats,
    start: Floats,
    boiling_point: Floats,
    capacity: Floats,
    latent: Floats,
) -> Array:
    r"""Heat to bring a liquor to the boil and drive some water off.

    .. math:: E = m\,c\,(T_b - T_0) + m_{evap}\,L

    Parameters
    ----------
    mass, evaporate : array_like
        Mass of the liquor and of the water to go, g.
    start, boiling_point : array_like
        K.
    capacity : array_like
        J/g/K.
    latent : array_like
        J/g.

    Returns
    -------
    ndarray
        J.
    """
    rise = np.maximum(floats(boiling_point) - start, 0)
    return np.asarray(floats(mass) * capacity * rise + floats(evaporate) * latent)


def evaporated(
    power: Floats,
    seconds: Floats,
    *,
    mass: Floats,
    water: Floats,
    start: Floats,
    boiling_point: Floats,
    capacity: Floats,
    latent: Floats,
) -> Array:
    """Water driven off in a time at a heat: first to the boil, then off.

    Parameters
    ----------
    power : array_like
        Heat that reaches the liquor, W.
    seconds : array_like
        s.
    mass, water : array_like
        Mass of liquor and of the water in it, g; no more than ``water`` can go.
    start, boiling_point, capacity, latent : array_like
        As in `energy_to_boil_off`.

    Returns
    -------
    ndarray
        g, between 0 and ``water``.
    """
    rise = np.maximum(floats(boiling_point) - start, 0)
    spare = floats(power) * seconds - floats(mass) * capacity * rise
    return np.asarray(np.clip(spare / latent, 0, water))


def time_to_boil_off(energy: Floats, power: Floats) -> Array:
    """Seconds that an amount of heat (J) takes at a power (W) into the pot; 0 where there is no power.

    Parameters
    ----------
    energy : array_like
        J.
    power : array_like
        Heat into the pot, W.

    Returns
    -------
    ndarray
        s.
    """
    return ratio(energy, power)


def still_evaporated(flux: Floats, area: Floats, seconds: Floats, *, water: Floats) -> Array:
    """Water lost below the boil.

    Parameters
    ----------
    flux : array_like
        g/m^2/s.
    area : array_like
        Open surface, m^2.
    seconds : array_like
        s.
    water : array_like
        Water there is, g.

    Returns
    -------
    ndarray
        g, at most ``water``.
    """
    return np.asarray(np.minimum(floats(flux) * area * seconds, water))
