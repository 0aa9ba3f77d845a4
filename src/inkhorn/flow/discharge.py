"""Timed discharge: a syringe, pipette or bottle with a hole that empties under its own head.

``nu = a t - b / t`` in mm2/s and s. The first term is Poiseuille's friction and the
second what the liquid spends on leaving at speed. Both constants come from water at
two temperatures, so that the vessel itself need not be measured.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import g as gravity


def kinematic_viscosity(time: ArrayLike, *, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Return ``a t - b / t`` in mm2/s for a time in seconds."""
    t = np.asarray(time, dtype=np.float64)
    return np.asarray(np.asarray(a) * t - np.asarray(b) / t)


def discharge_time(kinematic: ArrayLike, *, a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Return the time in s for a kinematic viscosity in mm2/s; inverse of `kinematic_viscosity`."""
    nu, first, second = np.asarray(kinematic, dtype=np.float64), np.asarray(a), np.asarray(b)
    return np.asarray((nu + np.sqrt(nu * nu + 4 * first * second)) / (2 * first))


def constants(
    *, times: tuple[ArrayLike, ArrayLike], kinematic: tuple[ArrayLike, ArrayLike]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return ``a, b`` of a vessel from two runs whose kinematic viscosities are known.

    Parameters
    ----------
    times : tuple of array_like
        The two discharge times, s; they must differ.
    kinematic : tuple of array_like
        The two viscosities, mm2/s (water: `inkhorn.flow.water` over its density).
    """
    t1, t2 = (np.asarray(t, dtype=np.float64) for t in times)
    n1, n2 = (np.asarray(n, dtype=np.float64) for n in kinematic)
    a = (n1 * t1 - n2 * t2) / (t1 * t1 - t2 * t2)
    return np.asarray(a), np.asarray(t1 * (a * t1 - n1))


def capillary_rate(
    kinematic: ArrayLike, *, radius: ArrayLike, length: ArrayLike, head: ArrayLike, loss: ArrayLike
) -> NDArray[np.float64]:
    r"""Return the flow in ul/s through a narrow tube under a constant head.

    .. math:: g h = \frac{8 \nu L}{\pi r^4} Q + \frac{m}{\pi^2 r^4} Q^2

    Parameters
    ----------
    kinematic : array_like
        mm2/s.
    radius, length, head : array_like
        mm.
    loss : array_like
        Factor m of the exit loss (about 1.1); 0 gives plain Poiseuille flow.
    """
    r4 = np.asarray(radius, dtype=np.float64) ** 4
    drive = 1000 * gravity * np.asarray(head)
    friction = 8 * np.asarray(kinematic) * np.asarray(length) / (np.pi * r4)
    exit_loss = np.asarray(loss) / (np.pi**2 * r4)
    return np.asarray(2 * drive / (friction + np.sqrt(friction * friction + 4 * exit_loss * drive)))
