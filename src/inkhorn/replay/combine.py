"""Several measures of one original taken together: scatter between pictures, and which one stands apart.

Two photographs of one page differ by more than each one's own error, because
cameras, light and the letters shown differ. That is a random effect of the
picture; its size is found by the method of moments [DL1986]_, for vectors as by
[JACKSON2010]_, and every picture's error is widened by it.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, chdtri, ndtri, stdtrit

from inkhorn.handbook.load import value

Array = NDArray[np.float64]
_CHANNELS = 3
_LEAST = 1e-6


@attrs.frozen(kw_only=True)
class Apart:
    """One measure that does not agree with the others.

    Attributes
    ----------
    index : int
        Which, in the order given.
    by : float
        Mean channel density of it less that of the others together: above zero, it is darker.
    chance : float
        How likely so great a distance is, were it like the others.
    """

    index: int
    by: float
    chance: float


@attrs.frozen(kw_only=True, eq=False)
class Combined:
    """Several measures as one.

    Attributes
    ----------
    density : ndarray (3,)
    covariance : ndarray (3, 3)
        Of its error.
    between : float
        Standard deviation between pictures, in each channel.
    weights : ndarray (k,)
        How far each measure is trusted, 0 to 1; 1 unless it stands apart.
    apart : tuple of Apart
    """

    density: Array
    covariance: Array
    between: float
    weights: Array
    apart: tuple[Apart, ...]


def shape_between(correlation: float) -> Array:
    """Return the covariance (3, 3) of a unit scatter between pictures, the channels correlated alike."""
    return np.full((_CHANNELS, _CHANNELS), correlation) + (1 - correlation) * np.eye(_CHANNELS)


def between_variance(densities: Array, covariances: Array, shape: Array) -> float:
    r"""Return the variance between measures, never below 0.

    .. math:: Q = \sum_i (d_i - \bar d)^T P_i (d_i - \bar d), \quad
        \tau^2 = \frac{Q - p(k - 1)}{\sum_i \mathrm{tr}(P_i S) - \mathrm{tr}\left[(\sum_i P_i)^{-1}
        \sum_i P_i S P_i\right]}

    Parameters
    ----------
    densities, covariances : ndarray (k, p), (k, p, p)
    shape : ndarray (p, p)
        S: what a unit of it is between channels.

    Notes
    -----
    For p = 1 and S = 1 this is the estimate of [DL1986]_.
    """
    count, size = densities.shape
    if count < 2:
        return 0.0
    precisions = np.linalg.inv(covariances)
    whole = np.linalg.inv(precisions.sum(axis=0))
    middle = whole @ np.einsum("kij,kj->i", precisions, densities)
    off = densities - middle
    scatter = float(np.einsum("ki,kij,kj->", off, precisions, off))
    twice = np.einsum("kij,jl,klm->im", precisions, shape, precisions)
    free = float(np.einsum("kij,ji->", precisions, shape) - np.trace(whole @ twice))
    return max(0.0, float(scatter - size * (count - 1)) / free)


def pooled(
    densities: Array, covariances: Array, shape: Array, weights: Array | None = None
) -> tuple[Array, Array, float]:
    """Return weighted mean (p,), its covariance (p, p) and the variance between, all by `between_variance`.

    ``weights`` (k,), 0 to 1, are how far each is trusted; its error and its scatter grow by their inverse.
    """
    trust = np.ones(len(densities)) if weights is None else weights
    extra = between_variance(densities, covariances / trust[:, None, None], shape)
    precisions = trust[:, None, None] * np.linalg.inv(covariances + extra * shape)
    covariance = np.linalg.inv(precisions.sum(axis=0))
    return covariance @ np.einsum("kij,kj->i", precisions, densities), covariance, extra


def combine(densities: Sequence[Array], covariances: Sequence[Array]) -> Combined:
    """Combine measures of the same ink.

    Each is held against all the others together, whose own scatter counts. One of
    three or more that lies far off them is trusted as Student's t does, less the
    further off it is; of two that disagree neither is favoured, and the band is wide.

    Parameters
    ----------
    densities, covariances : sequence of ndarray (3,), (3, 3)
        At least one.
    """
    seen, error = np.stack(densities), np.stack(covariances) + _LEAST * np.eye(_CHANNELS)
    shape = shape_between(value("exemplar.between.correlation"))
    count = len(seen)
    off = [_against_others(seen, error, shape, i) for i in range(count)] if count > 1 else []
    weights = np.ones(count)
    if count > 2:
        tail = value("misfit.tail")
        usual = tail + chdtri(_CHANNELS, value("exemplar.apart.chance"))
        weights = np.array([min(1.0, usual / (tail + square)) for square, _ in off])
        weights = weights / weights.max()
    density, covariance, extra = pooled(seen, error, shape, weights)
    return Combined(
        density=density,
        covariance=_widened(covariance, error / weights[:, None, None], count),
        between=float(np.sqrt(extra)),
        weights=weights,
        apart=_apart(off),
    )


def _widened(covariance: Array, error: Array, count: int) -> Array:
    """Return the covariance with what the scatter adds to it widened, for it was found from a few only.

    By the ratio of the 90 % points of Student's t and of the normal, as [KNAPP2003]_ widen an interval; but with
    the degrees of freedom of Q, p (k - 1), for all channels tell of the scatter. With those of one channel, k - 1,
    a second picture that differed by no more than chance made a page less sure than the first alone.
    """
    if count < 2:
        return covariance
    alone = np.linalg.inv(np.linalg.inv(error).sum(axis=0))
    # numbers-in-code: the upper end of the 90 % band of every answer
    wider = float(stdtrit(_CHANNELS * (count - 1), 0.95) / ndtri(0.95))
    return np.asarray(alone + wider**2 * (covariance - alone))


def _against_others(seen: Array, error: Array, shape: Array, i: int) -> tuple[float, Array]:
    """Return the squared distance of one measure from the others in their errors, and the difference (3,)."""
    rest = np.arange(len(seen)) != i
    middle, covariance, extra = pooled(seen[rest], error[rest], shape)
    off = seen[i] - middle
    return float(off @ np.linalg.solve(error[i] + covariance + extra * shape, off)), off


def _apart(off: Sequence[tuple[float, Array]]) -> tuple[Apart, ...]:
    """Return the measures that lie off the others both by more than chance and by enough to see."""
    found = []
    for i, (square, by) in enumerate(off):
        chance = float(chdtrc(_CHANNELS, square))
        if chance < value("exemplar.apart.chance") and np.abs(by).max() > value("exemplar.apart.least"):
            found.append(Apart(index=i, by=float(by.mean()), chance=chance))
    return tuple(found)
