r"""How much more or less than usual each trial's film was: scatter whose size is itself unknown.

Written plainly, ``u_i = s z_i`` with a common unknown size ``s`` makes a funnel
that no sampler likes. The size is therefore integrated out: for ``n`` trials the
vector ``u`` is a scale mixture of normals, which is as round as a normal, so
``u`` has the direction of a standard-normal ``z`` and the radius that has the
same probability,

.. math:: u = z\,\frac{R(|z|)}{|z|}, \qquad F_{|u|}(R(r)) = F_{\chi_n}(r),
    \qquad F_{|u|}(R) = \int F_{\chi_n}(R/s)\, p(s)\, ds .

The prior of ``u`` is exactly the same; what readings say of the size is read
off the radius (`size_given`).
"""

from __future__ import annotations

import functools
from collections.abc import Sequence

import numpy as np
from scipy.special import gammainc, gammaincc, gammainccinv, gammaincinv, ndtr

from inkhorn.handbook.load import row
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array

# numbers-in-code: nodes of a quadrature and points of a grid, a matter of time
_NODES = 33
_GRID = 400
_HALF = 0.5


def scatter(names: Sequence[str], draws: Draws) -> dict[str, Array]:
    """Return the natural-log film factor of every trial, (N,) each.

    Parameters
    ----------
    names : sequence of str
        All trials of the daybook; the size of their scatter is common.
    """
    return draws.once("trials/scatter", lambda: _scatter(tuple(sorted(names)), draws))


def _scatter(names: tuple[str, ...], draws: Draws) -> dict[str, Array]:
    z = np.stack([draws.of(unknown_of(name), "misfit.unit") for name in names])
    return dict(zip(names, _scattered(z), strict=True))


def _scattered(z: Array) -> Array:
    """Return the scatter (n, N) of standard-normal numbers (n, N)."""
    r = np.sqrt(np.sum(z**2, axis=0))
    grid_r, grid_big = radius(len(z))
    log_r = np.log(np.maximum(r, np.finfo(float).tiny))
    # Beyond the grid the ratio stays what it is at its end.
    ratio = np.interp(log_r, grid_r, grid_big - grid_r)
    return np.asarray(z * np.exp(ratio))


def _sizes() -> tuple[Array, Array]:
    """Return sizes and their prior weights: Gauss-Hermite nodes of the lognormal row."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    return row("misfit.stroke").at(nodes), weights / weights.sum()


@functools.cache
def radius(n: int) -> tuple[Array, Array]:
    """Return ``ln r`` of a standard normal in ``n`` dimensions and ``ln R`` of the scatter, matched in probability."""
    sizes, weights = _sizes()
    low, high = sizes.min() * 1e-2, sizes.max() * (n**_HALF + 8)
    big = np.geomspace(low, high, _GRID)
    half = (big[:, None] / sizes) ** 2 / 2
    below, above = gammainc(n / 2, half) @ weights, gammaincc(n / 2, half) @ weights
    # Each tail from its own side, so that neither loses its digits.
    chi2 = np.where(below < _HALF, gammaincinv(n / 2, below), gammainccinv(n / 2, above))
    r = np.sqrt(2 * chi2)
    kept = np.isfinite(r) & (r > 0)
    r, big = r[kept], big[kept]
    rising = np.concatenate([[True], np.diff(r) > 0])
    return np.log(r[rising]), np.log(big[rising])


def size_given(names: Sequence[str], draws: Draws, place: Array) -> Array:
    """Return draws of the size of the scatter given all trials' factors, (N,).

    Parameters
    ----------
    place : ndarray, shape (N,)
        Standard-normal numbers that say where in its conditional distribution each size falls.
    """
    if not names:
        return row("misfit.stroke").at(place)
    u2 = np.sum(np.stack(list(scatter(names, draws).values())) ** 2, axis=0)
    return _size(u2, len(names), place)


def _size(u2: Array, n: int, place: Array) -> Array:
    """Return draws of the size given the sum of squares of ``n`` factors, (N,)."""
    t = np.linspace(-5, 5, _GRID // 2)
    sizes = row("misfit.stroke").at(t)
    log_w = -(t**2) / 2 - n * np.log(sizes) - u2[:, None] / (2 * sizes**2)
    weights = np.exp(log_w - log_w.max(axis=1, keepdims=True))
    cumulative = np.cumsum(weights, axis=1)
    cumulative /= cumulative[:, -1:]
    wanted = ndtr(place)
    chosen = np.minimum((cumulative < wanted[:, None]).sum(axis=1), len(t) - 1)
    rows = np.arange(len(wanted))
    before = np.where(chosen > 0, cumulative[rows, np.maximum(chosen - 1, 0)], 0.0)
    width = np.maximum(cumulative[rows, chosen] - before, np.finfo(float).tiny)
    # Within a node's own cell the size falls where the rest of the probability says.
    return row("misfit.stroke").at(t[chosen] + ((wanted - before) / width - _HALF) * (t[1] - t[0]))


def unknown_of(trial: str) -> str:
    """Return the name of a trial's own unknown."""
    return f"trial:{trial}/load"


def is_own(name: str) -> bool:
    """Say whether a name is that of a trial's own unknown."""
    return name.startswith("trial:") and name.endswith("/load")


def _spread_out(u: Array) -> Array:
    """Return the standard-normal numbers (n, N) whose scatter is ``u`` (n, N)."""
    big = np.sqrt(np.sum(u**2, axis=0))
    grid_r, grid_big = radius(len(u))
    ratio = np.interp(np.log(np.maximum(big, np.finfo(float).tiny)), grid_big, grid_r - grid_big)
    return np.asarray(u * np.exp(ratio))


def with_more(z: Array, fresh: Array, place: Array) -> Array:
    """Return the numbers of ``n + k`` trials (n + k, N) that leave the scatter of the first ``n`` as it was.

    Parameters
    ----------
    z : ndarray, shape (n, N)
        Numbers of the trials there were.
    fresh : ndarray, shape (k, N)
        Standard-normal numbers for the new ones.
    place : ndarray, shape (N,)
        Standard-normal numbers for the size of the scatter, given the old ones.
    """
    if not len(z):
        return fresh
    u = _scattered(z)
    size = _size(np.sum(u**2, axis=0), len(u), place)
    return _spread_out(np.concatenate([u, size * fresh]))
