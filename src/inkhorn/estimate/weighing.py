"""Small sums over draws that carry weights: quantiles, ranks as normal numbers, distances of two spreads."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from inkhorn.estimate.likelihood import Array

BITS = 1.0 / np.log(2.0)


def normal_scores(draws: Array) -> Array:
    """Return draws (..., N) as standard-normal numbers of the same order; ties get the middle of their ranks."""
    rows = np.atleast_2d(draws)
    return np.stack([_scores(row) for row in rows]).reshape(draws.shape)


def _scores(row: Array) -> Array:
    _, place, count = np.unique(row, return_inverse=True, return_counts=True)
    middle = np.cumsum(count) - count / 2
    return np.asarray(ndtri(middle / len(row))[place])


def quantiles(draws: Array, share: Array, at: Array) -> Array:
    """Return weighted quantiles of draws (N,), each draw with its share of the whole (N,)."""
    order = np.argsort(draws)
    weight = share[order]
    return np.interp(at, np.cumsum(weight) - weight / 2, draws[order])


def gained(mean: float, variance: float) -> float:
    """Return the Kullback-Leibler divergence of a normal from a standard normal, bits."""
    return float(BITS * (variance + mean**2 - 1.0 - np.log(variance)) / 2)


def changed(scores: Array, share: Array) -> Array:
    """Return how far the spread of each of some quantities is from what it is under other weights, bits, (K,).

    Parameters
    ----------
    scores : ndarray, shape (K, N)
        Their draws as normal numbers (`normal_scores`), so that a change of
        unit or scale changes nothing.
    share : ndarray, shape (N,)
        Each draw's share of the whole under the other weights.
    """
    mean = scores @ share
    variance = np.maximum((scores**2) @ share - mean**2, np.finfo(float).eps) / np.var(scores, axis=1)
    return np.asarray(BITS * ((1.0 + mean**2) / variance - 1.0 + np.log(variance)) / 2)


def in_common(one: Array, other: Array) -> float:
    """Return the share of the spread that two quantities of mean zero, (N,) each, have in common; 0 where one has none."""
    both = float(np.sum(one**2) * np.sum(other**2))
    return float(one @ other) ** 2 / both if both > 0 else 0.0
