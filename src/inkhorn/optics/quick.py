"""Films on one support for thousands of draws: the same optics as `film` and `observe`, in blocks that fit the cache."""

from __future__ import annotations

import functools
import math

import numpy as np
from numpy.typing import NDArray

from inkhorn.optics import spectra

#: Rows worked on at a time: a few arrays of so many spectra stay in a core's own memory.
BLOCK = 512
_CM3_PER_LITRE = 1000
_DOUBLE_PASS = -2 * math.log(10)

Array = NDArray[np.float64]


@functools.cache
def _exponents() -> Array:
    """Return what one unit of each colorant adds to the exponent of the double pass, (3, W)."""
    shape = spectra.shapes()
    return np.stack([shape.gallate, shape.catecholate, shape.brown]) * (_CM3_PER_LITRE * _DOUBLE_PASS)


@functools.cache
def thin() -> Array:
    r"""Return the density that one unit of each colorant makes in each channel of a thin film under its surface, (3, 3).

    To first order in the amounts, on a white support: the mean over the channel's weights :math:`w` of the double
    pass, :math:`\sum w\,2A / \sum w`.
    """
    weights = spectra.observer().rgb.T
    return np.asarray(weights @ _exponents().T / weights.sum(axis=1)[:, None] / -math.log(10))


def linear_rgb(
    *, gallate: Array, catecholate: Array, brown: Array, support: Array, k1: Array, k2: Array
) -> Array:
    r"""Return the linear sRGB, (N, 3), of films on one support.

    The double pass of `film.reflectance` and the sum of `observe.linear_rgb`
    in one: with bare reflectance :math:`R`, :math:`T = 10^{-2A}`,

    .. math:: R_m = k_1 + (1 - k_1)(1 - k_2)\,\frac{(R - k_1)\,T}{1 - k_1 - k_2 + k_2 R - k_2 (R - k_1)\,T}

    Parameters
    ----------
    gallate, catecholate, brown : ndarray, shape (N,)
        Amounts per cm2 times the strength of each curve (the shapes are those
        of `spectra.shapes`).
    support : ndarray, shape (W,)
        Reflectance of the bare support as measured.
    k1, k2 : ndarray, shape (N,)
        Surface constants.

    Notes
    -----
    Checked against the plain way in ``tests/unit/optics/test_quick.py``.
    """
    n = len(gallate)
    amounts, weights = np.stack([gallate, catecholate, brown]), spectra.observer().rgb.T
    through = (1 - k1) * (1 - k2)
    size = min(BLOCK, n)
    colour = np.empty((3, n))
    gleams = bool(support.min() < k1.max())  # somewhere a bare support darker than the surface's own gleam
    buffers = np.empty((2, len(support), size))
    for start in range(0, n, size):
        part = slice(start, min(start + size, n))
        t, u = buffers[:, :, : part.stop - start]
        np.matmul(_exponents().T, amounts[:, part], out=t)
        np.exp(t, out=t)
        np.subtract(support[:, None], k1[part], out=u)
        if gleams:
            np.maximum(u, 0, out=u)
        # (R - k1) T over a + (R - k1) (1 - T), a = (1 - k1)(1 - k2) / k2: the formula above, divided by k2.
        t *= u
        u -= t
        u += through[part] / k2[part]
        t /= u
        colour[:, part] = weights @ t
    return np.ascontiguousarray((weights.sum(axis=1)[:, None] * k1 + through / k2 * colour).T)
