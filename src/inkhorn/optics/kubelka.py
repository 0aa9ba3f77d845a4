"""Kubelka and Munk: a layer that both absorbs and scatters, on a backing."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

# Below this much scattering the layer is as good as clear, and coth would overflow.
_CLEAR = 1e-9


@attrs.frozen(kw_only=True)
class Layer:
    """A layer over a black backing: what it reflects, and what it lets through."""

    reflectance: NDArray[np.float64]
    transmittance: NDArray[np.float64]


def layer(*, absorption: ArrayLike, scattering: ArrayLike, thickness: ArrayLike) -> Layer:
    r"""Return the reflectance over black and the transmittance of a layer.

    .. math:: R_0 = \frac{\sinh bSX}{a \sinh bSX + b \cosh bSX}, \quad
        T = \frac{b}{a \sinh bSX + b \cosh bSX}, \quad
        a = 1 + K/S,\; b = \sqrt{a^2 - 1}

    Parameters
    ----------
    absorption, scattering : array_like
        K and S, per unit of thickness; they broadcast.
    thickness : array_like
        X.

    Notes
    -----
    Written with ``S a = S + K`` and ``S b = sqrt(K (K + 2 S))`` and decaying
    exponentials only, so that neither a clear nor a very thick layer overflows.

    References
    ----------
    [KubelkaMunk1931], [Kubelka1948]. Checked in ``tests/published/test_optics_kubelka.py``.
    """
    k, s = np.asarray(absorption, dtype=np.float64), np.asarray(scattering, dtype=np.float64)
    x = np.asarray(thickness, dtype=np.float64)
    sa, sb = s + k, np.sqrt(k * (k + 2 * s))
    depth = sb * x
    once, twice = np.exp(-depth), -np.expm1(-2 * depth)
    # sinh and cosh over exp(depth), times two; where depth vanishes sinh(depth)/sb is x.
    small = depth < _CLEAR
    sinh_over_b = np.where(small, 2 * x, twice / np.where(small, 1, sb))
    bottom = sa * sinh_over_b + 2 - twice
    return Layer(
        reflectance=np.asarray(s * sinh_over_b / bottom), transmittance=np.asarray(2 * once / bottom)
    )


def over(top: Layer, backing: ArrayLike) -> NDArray[np.float64]:
    """Return the reflectance of a layer on a backing: ``R0 + T^2 Rg / (1 - R0 Rg)``."""
    rg = np.asarray(backing, dtype=np.float64)
    return np.asarray(top.reflectance + top.transmittance**2 * rg / (1 - top.reflectance * rg))


def infinite(*, absorption: ArrayLike, scattering: ArrayLike) -> NDArray[np.float64]:
    """Return the reflectance of a layer too thick to see through; 0 without scattering."""
    k, s = np.asarray(absorption, dtype=np.float64), np.asarray(scattering, dtype=np.float64)
    return np.asarray(s / (s + k + np.sqrt(k * (k + 2 * s))))


def ratio(infinite_reflectance: ArrayLike) -> NDArray[np.float64]:
    """Return ``K/S = (1 - R)^2 / (2 R)`` of a thick layer's reflectance."""
    r = np.asarray(infinite_reflectance, dtype=np.float64)
    return np.asarray((1 - r) ** 2 / (2 * r))
