"""A clear, coloured film on a support: what it absorbs, and what comes back out."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.optics.spectra import Curves

_CM3_PER_LITRE = 1000
# Through the film to the support and back; ln 10 turns a decadic absorbance into an exponent.
_DOUBLE_PASS = -2 * math.log(10)


def absorbance(
    *, gallate: ArrayLike, catecholate: ArrayLike = 0, brown: ArrayLike = 0, curves: Curves
) -> NDArray[np.float64]:
    r"""Return the single-pass decadic absorbance ``(..., W)`` of a dry film.

    .. math:: A(\lambda) = 1000 \sum_i \varepsilon_i(\lambda)\, n_i

    Parameters
    ----------
    gallate, catecholate : array_like
        Iron bound in each kind of complex, mol/cm2; ``(N,)`` or scalars, broadcast.
    brown : array_like
        Brown matter, g/cm2.
    curves : Curves
        Absorptivities, see `inkhorn.optics.spectra.curves`.
    """
    parts = np.broadcast_arrays(*(np.asarray(p, dtype=np.float64) for p in (gallate, catecholate, brown)))
    amounts = np.stack(parts, axis=-1) * _CM3_PER_LITRE
    return np.asarray(amounts @ np.stack([curves.gallate, curves.catecholate, curves.brown]))


def outside(inner: ArrayLike, k1: ArrayLike, k2: ArrayLike) -> NDArray[np.float64]:
    r"""Return what is seen of an inner reflectance through a surface (Saunderson).

    .. math:: R_m = k_1 + \frac{(1 - k_1)(1 - k_2) R}{1 - k_2 R}

    References
    ----------
    [Saunderson1942]. Checked in ``tests/unit/optics/test_film.py``.
    """
    r, c1, c2 = np.asarray(inner, dtype=np.float64), np.asarray(k1), np.asarray(k2)
    return np.asarray(c1 + (1 - c1) * (1 - c2) * r / (1 - c2 * r))


def inside(seen: ArrayLike, k1: ArrayLike, k2: ArrayLike) -> NDArray[np.float64]:
    """Return the inner reflectance of a measured one; the inverse of `outside`.

    What is darker than the surface's own gleam has no inner reflectance; it is taken as 0.
    """
    r, c1, c2 = np.asarray(seen, dtype=np.float64), np.asarray(k1), np.asarray(k2)
    return np.asarray(np.maximum((r - c1) / (1 - c1 - c2 + c2 * r), 0))


def reflectance(
    absorbance: NDArray[np.float64], support: ArrayLike, k1: ArrayLike, k2: ArrayLike
) -> NDArray[np.float64]:
    r"""Return the reflectance of a film on a support, both seen through their surface.

    .. math:: R_g = \mathrm{inside}(R_{bare}), \qquad R = \mathrm{outside}(R_g\, 10^{-2A})

    so that no ink gives back the bare support exactly, and however much ink never
    gives less than the surface mirrors.

    Parameters
    ----------
    absorbance : ndarray
        Single-pass decadic, ``(..., W)``.
    support : array_like
        Reflectance of the bare support as measured (its surface included), ``(W,)`` or ``(..., W)``.
    k1, k2 : array_like
        Surface constants; scalars, or ``(...,)`` with one entry a draw.

    Returns
    -------
    ndarray
        ``(..., W)``, between ``k1`` and the bare reflectance.
    """
    c1, c2 = _column(k1), _column(k2)
    r = np.multiply(absorbance, _DOUBLE_PASS)
    np.exp(r, out=r)
    bare = inside(support, c1, c2)
    if bare.ndim > r.ndim or np.broadcast_shapes(bare.shape, r.shape) != r.shape:
        r = r * bare
    else:
        r *= bare
    # outside(r), in place: this is the inner loop of every prediction of a stroke.
    below = np.multiply(r, -c2)
    below += 1
    r *= (1 - c1) * (1 - c2)
    r /= below
    r += c1
    return r


def _column(constant: ArrayLike) -> NDArray[np.float64]:
    c = np.asarray(constant, dtype=np.float64)
    return c[..., None] if c.ndim else c
