"""Films on one support for thousands of draws: the same optics as `film` and `observe`, in blocks that fit the cache."""

from __future__ import annotations

import functools
import math

import numpy as np
from numpy.typing import NDArray

from inkhorn.optics import spectra

#: Rows worked on at a time: a few arrays of so many spectra stay in a core's own memory.
BLOCK = 256
_CM3_PER_LITRE = 1000
_DOUBLE_PASS = -2 * math.log(10)

Array = NDArray[np.float64]


@functools.cache
def _exponents() -> Array:
    """Return what one unit of each colorant adds to the exponent of the double pass, (3, W)."""
    shape = spectra.shapes()
    return np.stack([shape.gallate, shape.catecholate, shape.brown]) * (_CM3_PER_LITRE * _DOUBLE_PASS)


def linear_rgb(*, gallate: Array, catecholate: Array, brown: Array, support: Array, k1: Array, k2: Array) -> Array:
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
    amounts = np.stack([gallate, catecholate, brown], axis=-1)
    weights = spectra.observer().rgb
    out = np.empty((n, 3))
    size = min(BLOCK, n)
    seen, under, bare = (np.empty((size, len(support))) for _ in range(3))
    for start in range(0, n, size):
        part = slice(start, min(start + size, n))
        m = part.stop - part.start
        c1, c2 = k1[part, None], k2[part, None]
        t, below, inner = seen[:m], under[:m], bare[:m]
        np.dot(amounts[part], _exponents(), out=t)
        np.exp(t, out=t)
        np.subtract(support, c1, out=inner)
        np.maximum(inner, 0, out=inner)
        t *= inner
        np.multiply(support, c2, out=below)
        below += 1 - c1 - c2
        np.multiply(t, c2, out=inner)
        below -= inner
        t /= below
        out[part] = c1 * weights.sum(axis=0) + (1 - c1) * (1 - c2) * (t @ weights)
    return out
