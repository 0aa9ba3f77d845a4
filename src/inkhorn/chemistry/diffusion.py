"""Diffusion out of pieces: Crank's solutions for slab, cylinder and sphere.

All return the share that has left, as a function of the Fourier number
:math:`Fo = Dt/a^2` (``a`` = half thickness, or radius). Short times use the
error-function forms, where the trigonometric series would need hundreds of
terms; the two meet to better than 1e-9.

References: [CRANK1975]_, pp. 48, 57, 73, 91.
Checked in ``tests/published/test_chemistry_diffusion.py``.
"""

from __future__ import annotations

import functools

import numpy as np
from scipy.special import erfc, erfcx, jn_zeros

from inkhorn.chemistry.arrays import Array, Floats, floats

_SHORT = 1 / 10  # both forms of slab and sphere are exact to rounding here
_SHORT_CYLINDER = 1e-4  # the cylinder's short form is only asymptotic
_TERMS = 12
# numbers-in-code: terms of a series and steps of a bisection, taken until nothing changes
_ZEROS = 300
_BISECTIONS = 60


def fourier_number(diffusivity: Floats, seconds: Floats, length: Floats) -> Array:
    """Return ``D t / a^2``; m^2/s, s and m give 1.

    Parameters
    ----------
    diffusivity : array_like
        m^2/s.
    seconds : array_like
        s.
    length : array_like
        Half thickness or radius, m.

    Returns
    -------
    ndarray
        Dimensionless time.
    """
    return np.asarray(floats(diffusivity) * floats(seconds) / floats(length) ** 2)


def crank_slab(fo: Floats) -> Array:
    r"""Share out of a slab whose both faces are held empty.

    .. math:: F = 1 - \frac{8}{\pi^2}\sum_{k\ge0}\frac{e^{-(2k+1)^2\pi^2 Fo/4}}{(2k+1)^2}

    Parameters
    ----------
    fo : array_like
        Fourier number with the half thickness, >= 0.

    Returns
    -------
    ndarray
        Share released, 0-1.
    """
    x = floats(fo)
    n = 2 * np.arange(_TERMS) + 1
    tail = np.exp(-(n**2) * np.pi**2 / 4 * x[..., None]) / n**2
    long = 1 - 8 / np.pi**2 * tail.sum(-1)
    root = np.sqrt(np.maximum(x, 0))
    k = np.arange(1.0, _TERMS)
    mirror = ((-1.0) ** k * _ierfc(_over(k, root))).sum(-1)
    short = 2 * root * (1 / np.sqrt(np.pi) + 2 * mirror)
    return np.asarray(np.where(x < _SHORT, short, long))


def crank_sphere(fo: Floats) -> Array:
    r"""Share out of a sphere whose surface is held empty.

    .. math:: F = 1 - \frac{6}{\pi^2}\sum_{k\ge1}\frac{e^{-k^2\pi^2 Fo}}{k^2}

    Parameters
    ----------
    fo : array_like
        Fourier number with the radius, >= 0.

    Returns
    -------
    ndarray
        Share released, 0-1.
    """
    x = floats(fo)
    k = np.arange(1.0, _TERMS + 1)
    long = 1 - 6 / np.pi**2 * (np.exp(-(k**2) * np.pi**2 * x[..., None]) / k**2).sum(-1)
    root = np.sqrt(np.maximum(x, 0))
    short = 6 * root * (1 / np.sqrt(np.pi) + 2 * _ierfc(_over(k, root)).sum(-1)) - 3 * x
    return np.asarray(np.where(x < _SHORT, short, long))


def crank_cylinder(fo: Floats) -> Array:
    r"""Share out of a long cylinder whose surface is held empty.

    .. math:: F = 1 - 4\sum_k \alpha_k^{-2} e^{-\alpha_k^2 Fo}, \quad J_0(\alpha_k) = 0

    Parameters
    ----------
    fo : array_like
        Fourier number with the radius, >= 0.

    Returns
    -------
    ndarray
        Share released, 0-1.
    """
    x = floats(fo)
    alpha = _bessel_zeros()
    long = 1 - 4 * (np.exp(-(alpha**2) * x[..., None]) / alpha**2).sum(-1)
    root = np.sqrt(np.maximum(x, 0))
    short = 4 * root / np.sqrt(np.pi) - x - x * root / (3 * np.sqrt(np.pi))
    return np.asarray(np.where(x < _SHORT_CYLINDER, short, long))


def crank_limited(fo: Floats, alpha: Floats) -> Array:
    r"""Share of the *final* release out of a slab in a limited, stirred liquor.

    .. math:: F = 1 - \sum_k \frac{2\alpha(1+\alpha)}{1+\alpha+\alpha^2 q_k^2}e^{-q_k^2 Fo},
              \quad \tan q_k = -\alpha q_k

    Parameters
    ----------
    fo : array_like
        Fourier number with the half thickness, >= 0.
    alpha : array_like
        Liquor volume over (partition coefficient x solid volume), > 0.

    Returns
    -------
    ndarray
        Share of what will have left at equilibrium, 0-1; times
        ``alpha / (1 + alpha)`` it is the share of all there was.
    """
    x, a = np.broadcast_arrays(floats(fo), floats(alpha))
    root = np.sqrt(np.maximum(x, 0))
    short = (1 + a) * (1 - erfcx(root / a))
    q = _limited_roots(a)
    weight = 2 * a * (1 + a)
    terms = weight[..., None] / (1 + a[..., None] + (a[..., None] * q) ** 2)
    long = 1 - (terms * np.exp(-(q**2) * x[..., None])).sum(-1)
    return np.asarray(np.where(x < _SHORT / 2, short, long))


def _over(k: Array, root: Array) -> Array:
    """Return ``k / root`` with a far argument where the root is 0."""
    return np.asarray(k / np.maximum(root[..., None], 1e-6))


def _ierfc(z: Array) -> Array:
    r"""Integral of erfc: :math:`e^{-z^2}/\sqrt\pi - z\,erfc(z)`."""
    return np.asarray(np.exp(-(z**2)) / np.sqrt(np.pi) - z * erfc(z))


@functools.cache
def _bessel_zeros() -> Array:
    return floats(jn_zeros(0, _ZEROS))


def _limited_roots(alpha: Array) -> Array:
    """Roots of ``tan q = -alpha q``, one in each ``((k - 1/2) pi, k pi)``, by bisection."""
    k = np.arange(1, _TERMS + 4)
    low = np.broadcast_to((k - 0.5) * np.pi, (*alpha.shape, k.size)).copy()
    high = np.broadcast_to(k * np.pi, low.shape).copy()
    sign = (-1.0) ** k
    for _ in range(_BISECTIONS):
        mid = 0.5 * (low + high)
        value = (np.sin(mid) + alpha[..., None] * mid * np.cos(mid)) * sign
        # at the left end sin has sign (-1)**(k+1), at the right the cosine term wins with (-1)**k
        low = np.where(value < 0, mid, low)
        high = np.where(value < 0, high, mid)
    return np.asarray(0.5 * (low + high))
