r"""Importance weights whose largest are smoothed by a generalised Pareto tail, with the tail's own warning.

A reading is taken away from particles that have seen it by weighing each with
one over the reading's likelihood. Where the reading said much, a few particles
carry all the weight and their mean cannot be trusted. The largest weights are
therefore replaced by the quantiles of a generalised Pareto distribution fitted
to them [Vehtari2017]_ [Vehtari2024]_; its shape ``k`` says how far the result
is to be trusted. Below 0.7 a mean converges; below one half the weights have a
variance, and the error told of a mean means what it says. That is asked for here:
in a daybook of 112 unknowns means at 0.5 to 0.6 fell short by a third.

References
----------
.. [Vehtari2017] A. Vehtari, A. Gelman, J. Gabry, Practical Bayesian model evaluation using leave-one-out
   cross-validation and WAIC, Statistics and Computing 27 (2017) 1413.
.. [Vehtari2024] A. Vehtari, D. Simpson, A. Gelman, Y. Yao, J. Gabry, Pareto smoothed importance sampling,
   Journal of Machine Learning Research 25 (2024) 72.
.. [Zhang2009] J. Zhang, M. A. Stephens, A new and efficient estimation method for the generalized Pareto
   distribution, Technometrics 51 (2009) 316.
"""

from __future__ import annotations

import attrs
import numpy as np
from scipy.special import logsumexp

from inkhorn.estimate.likelihood import Array

# numbers-in-code: share and count of weights that make the tail, and the limits of k (Vehtari and others 2024)
_SHARE, _ROOTS, _LEAST, _TRUSTED = 0.2, 3.0, 5, 0.5
# numbers-in-code: the weakly informative prior of k, ten observations at one half (Vehtari and others 2024)
_SEEN, _ABOUT = 10, 0.5
# numbers-in-code: the grid and the prior of the profile fit (Zhang and Stephens 2009)
_NODES, _QUARTILE, _PRIOR = 30, 0.25, 3.0


@attrs.frozen(kw_only=True, eq=False)
class Weights:
    """Smoothed importance weights: ``log`` (N,), which sum to one; ``log_mean`` of the raw ones; shape ``k``."""

    log: Array
    log_mean: float
    k: float

    @property
    def share(self) -> Array:
        """Return each draw's share of the whole, (N,)."""
        return np.exp(self.log)

    @property
    def effective(self) -> float:
        """Return how many draws of equal weight these are worth."""
        return float(np.exp(-logsumexp(2 * self.log)))

    def is_trusted(self, n: float) -> bool:
        """Say whether a mean under these weights can be trusted, from ``n`` independent draws."""
        return self.k < trusted(n)


def trusted(n: float) -> float:
    """Return the largest shape at which ``n`` draws still give a mean that can be trusted."""
    return min(1.0 - 1.0 / float(np.log10(max(n, _SEEN + 1))), _TRUSTED)


def smooth(log_weight: Array) -> Weights:
    """Return smoothed weights of unnormalised log-weights (N,)."""
    n = len(log_weight)
    top = float(np.max(log_weight))
    shifted = log_weight - top
    count = int(min(np.ceil(_SHARE * n), np.ceil(_ROOTS * np.sqrt(n))))
    order = np.argsort(shifted)
    tail, edge = order[n - count :], shifted[order[n - count - 1]] if n > count else -np.inf
    k = 0.0
    above = np.exp(shifted[tail]) - np.exp(edge)
    if count >= _LEAST and above[-1] > above[0] > 0:
        k, scale = fit(above)
        place = (np.arange(count) + 0.5) / count
        smoothed = np.exp(edge) + quantile(place, k, scale)
        shifted = shifted.copy()
        # No smoothed weight is larger than the largest raw one.
        shifted[tail] = np.minimum(np.log(smoothed), 0.0)
    total = float(logsumexp(shifted))
    return Weights(log=shifted - total, log_mean=total + top - float(np.log(n)), k=k)


def quantile(place: Array, k: float, scale: float) -> Array:
    """Return quantiles of a generalised Pareto distribution that begins at zero."""
    if abs(k) < np.finfo(float).eps:
        return np.asarray(-scale * np.log1p(-place))
    return np.asarray(scale * np.expm1(-k * np.log1p(-place)) / k)


def fit(above: Array) -> tuple[float, float]:
    """Return shape and scale of a generalised Pareto distribution fitted to ascending exceedances (M,).

    The profile likelihood is averaged over a grid (Zhang and Stephens 2009);
    the shape is drawn a little towards one half (Vehtari and others 2024).
    """
    m = len(above)
    nodes = _NODES + int(np.sqrt(m))
    quarter = above[max(int(_QUARTILE * m + 0.5) - 1, 0)]
    b = 1.0 / above[-1] + (1.0 - np.sqrt(nodes / (np.arange(1, nodes + 1) - 0.5))) / (_PRIOR * quarter)
    shapes = np.mean(np.log1p(-b[:, None] * above), axis=1)
    height = m * (np.log(-b / shapes) - shapes - 1.0)
    weights = np.exp(height - logsumexp(height))
    best = float(np.sum(b * weights))
    shape = float(np.mean(np.log1p(-best * above)))
    scale = -shape / best
    return (m * shape + _SEEN * _ABOUT) / (m + _SEEN), scale
