"""Several measures of one original taken together: scatter between pictures, and which one stands apart.

Two photographs of one page differ by more than each one's own error, because
cameras, light and the letters shown differ. That is a random effect of the
picture. Its size is not known from two or three of them: it is integrated over,
with a half-t prior [ROEVER2020]_, so that pictures that agree make the page
surer than one alone, and pictures that do not make it less sure. Which picture
stands apart is judged by the method of moments [DL1986]_, for vectors as by
[JACKSON2010]_.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, chdtri, stdtrit

from inkhorn.handbook.load import value

Array = NDArray[np.float64]
_CHANNELS = 3
_LEAST = 1e-6
# numbers-in-code: places at which the scatter's size is integrated
_TAUS = 96


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
        Standard deviation between pictures, in each channel: its median.
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
    density, covariance, between = integrated(seen, error, shape, weights)
    return Combined(
        density=density, covariance=covariance, between=between, weights=weights, apart=_apart(off)
    )


def integrated(
    densities: Array, covariances: Array, shape: Array, weights: Array | None = None
) -> tuple[Array, Array, float]:
    r"""Return mean (p,), covariance (p, p) and scatter between, the scatter's size integrated over.

    .. math:: p(\tau \mid d) \propto p(\tau)\, |W|^{-1/2} \prod_i |P_i|^{1/2}
        \exp\left[-\tfrac12 (d_i - \bar d)^T P_i (d_i - \bar d)\right], \quad
        P_i = w_i (C_i + \tau^2 S)^{-1}, \; W = \sum_i P_i

    with a flat prior of the mean; its covariance is the mean of W^-1 plus that of the means over tau [ROEVER2020]_.
    One measure alone tells nothing of a scatter and is left as it is.

    Parameters
    ----------
    densities, covariances : ndarray (k, p), (k, p, p)
    shape : ndarray (p, p)
        S: what a unit of scatter is between channels.
    weights : ndarray (k,), optional
        How far each is trusted, 0 to 1.

    References
    ----------
    .. [ROEVER2020] C. Roever, Bayesian random-effects meta-analysis using the bayesmeta R package,
       J. Statistical Software 93(6), 2020, eqs 4-9 (the formulas from memory).
    """
    if len(densities) == 1:
        return densities[0], covariances[0], 0.0
    trust = np.ones(len(densities)) if weights is None else weights
    # Even steps of the prior's probability: its every part is looked at once.
    # numbers-in-code: a midpoint rule
    share = (np.arange(_TAUS) + 0.5) / _TAUS
    tau = value("exemplar.between.scale") * stdtrit(value("exemplar.between.tail"), 0.5 * (1 + share))
    precisions = trust[:, None, None] * np.linalg.inv(covariances + (tau**2)[:, None, None, None] * shape)
    whole = np.linalg.inv(precisions.sum(axis=1))
    means = np.einsum("tij,tkjl,kl->ti", whole, precisions, densities)
    off = densities - means[:, None]
    square = np.einsum("tki,tkij,tkj->t", off, precisions, off)
    log = 0.5 * (np.linalg.slogdet(precisions)[1].sum(axis=1) + np.linalg.slogdet(whole)[1] - square)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = weight @ means
    apart = means - mean
    covariance = np.einsum("t,tij->ij", weight, whole) + np.einsum("t,ti,tj->ij", weight, apart, apart)
    return mean, covariance, float(np.interp(0.5, np.cumsum(weight), tau))


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
