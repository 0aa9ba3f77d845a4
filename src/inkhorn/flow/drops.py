"""The mass of a falling drop: Tate's law with the Harkins-Brown correction."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import g as gravity

_ROUNDS = 12


def ideal_mass(*, radius: ArrayLike, surface_tension: ArrayLike) -> NDArray[np.float64]:
    """Return Tate's mass ``2 pi r sigma / g`` in mg (radius in mm, sigma in mN/m)."""
    return np.asarray(2 * np.pi * np.asarray(radius) * np.asarray(surface_tension) / gravity)


def drop_mass(
    *,
    radius: ArrayLike,
    surface_tension: ArrayLike,
    density: ArrayLike,
    ratios: NDArray[np.float64],
    factors: NDArray[np.float64],
) -> NDArray[np.float64]:
    r"""Return the mass in mg of a drop that falls slowly from a wetted tip.

    .. math:: m = \frac{2 \pi r \sigma}{g} f\!\left(r / V^{1/3}\right)

    solved by fixed-point rounds (the factor changes little with V).

    Parameters
    ----------
    radius : array_like
        Radius of the wetted tip, mm.
    surface_tension, density : array_like
        mN/m and g/ml (1 mg is 1 ul at density 1).
    ratios, factors : ndarray
        The table of f against ``r / V^(1/3)``: handbook grid ``harkins_brown``.

    References
    ----------
    [HarkinsBrown1919]. Checked in ``tests/unit/flow/test_drops.py``.
    """
    ideal = ideal_mass(radius=radius, surface_tension=surface_tension)
    r, rho = np.asarray(radius, dtype=np.float64), np.asarray(density, dtype=np.float64)
    mass = ideal * factors[len(factors) // 2]
    for _ in range(_ROUNDS):
        mass = ideal * np.interp(r / np.cbrt(mass / rho), ratios, factors)
    return np.asarray(mass)
