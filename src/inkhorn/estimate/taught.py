r"""What each reading taught: how far the posterior with it is from the one without it.

For reading :math:`y_i` with likelihood :math:`L_i(\theta)` given the others,

.. math:: D_i = \mathrm{KL}\,[\,p(\theta\mid y)\,\|\,p(\theta\mid y_{-i})\,]
          = \mathrm{E}\,[\log_2 L_i] + \log_2 \mathrm{E}\,[1/L_i],

both expectations over the posterior draws (the second is one over the chance
that the others gave this reading). It is never negative; expected over what the
reading might have been it is Lindley's measure [Lindley1956]_, for one normal
reading of one normal unknown ``0.5 log2(1 + prior variance / error variance)``.
The weights ``1/L_i`` are Pareto-smoothed (`inkhorn.estimate.pareto`); where
their tail is too heavy, by that fit or by normal theory, the sum is only a
lower bound, and is told as one.

References
----------
.. [Lindley1956] D. V. Lindley, On a measure of the information provided by an experiment,
   Annals of Mathematical Statistics 27 (1956) 986.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping

import numpy as np
from scipy.special import logsumexp

from inkhorn.estimate import pareto, weighing
from inkhorn.estimate.evidence.base import Array, Evidence
from inkhorn.estimate.evidence.numbers import Number
from inkhorn.estimate.known import Band, Mattered, Taught
from inkhorn.estimate.problem import Problem, error_sizes
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Played

#: Whose figure, which figure.
Named = tuple[str, str]
#: Stands for whose, where a reading changed no figure and an unknown is named instead.
UNKNOWN = "unknown"
# numbers-in-code: the 90 % band and the median
_BAND = np.array([0.05, 0.5, 0.95])


def by_reading(
    problem: Problem,
    played: Played,
    draws: Draws,
    ess: float,
    figures: Mapping[Named, tuple[Array, str]],
    unknowns: Mapping[str, tuple[Array, str]],
    least: float,
) -> tuple[Taught, ...]:
    """Return what each reading taught, most first.

    Parameters
    ----------
    ess : float
        How many independent draws these are worth.
    figures : mapping
        Draws of each figure, with its unit.
    unknowns : mapping
        Draws of each unknown, with its unit: one of them is named where no figure changed.
    least : float
        Bits below which neither is named.
    """
    told = Told(figures)
    instead = Told({(UNKNOWN, name): drawn for name, drawn in unknowns.items()})
    out = []
    heights = alone(problem, played, draws)
    for item in problem.evidence:
        height = heights[item.number]
        weights = pareto.smooth(-height)
        bits, error = information(height, weights, ess)
        most = told.mattered(weights, least) or instead.mattered(weights, least)
        shape = weights.k
        if isinstance(item, Number):
            shape = max(shape, normal_shape(item, played.predicted[item.number], draws))
        sure = shape < pareto.trusted(ess)
        out.append(Taught(entry=item.number, bits=bits, error=error, sure=sure, shape=shape, most=most))
    return tuple(sorted(out, key=lambda t: -t.bits))


def information(height: Array, weights: pareto.Weights, ess: float) -> tuple[float, float]:
    """Return the information of a reading and its Monte Carlo error, bits.

    Parameters
    ----------
    height : ndarray, shape (N,)
        Log-likelihood of the reading on draws of the posterior that has it.
    weights : Weights
        Of its inverse.
    ess : float
        How many independent draws these are worth.
    """
    nats = max(float(np.mean(height)) + weights.log_mean, 0.0)
    pull = height - np.mean(height) + len(height) * weights.share
    return nats * weighing.BITS, float(np.std(pull) / np.sqrt(ess)) * weighing.BITS


def normal_shape(item: Number, mu: Array, draws: Draws) -> float:
    """Return the shape of the tail of one over a reading's likelihood, were all normal.

    With the prediction normal of variance ``V`` and the reading's error ``R``
    the weights have the tail of ``exp(x' R^-1 x / 2)``: a Pareto tail whose
    shape is the largest eigenvalue of ``V R^-1``. A few hundred draws do not
    reach that tail, and a fit to them alone says too little.

    Parameters
    ----------
    mu : ndarray, shape (m, N)
        Posterior draws of what the reading should have been.
    """
    known = mu[:, ~np.isnan(mu).any(axis=0)]
    if known.shape[1] < 2:
        return 0.0
    middle = np.median(known, axis=1)[:, None]
    spread = np.atleast_2d(np.cov(known))
    return float(np.max(np.linalg.eigvals(spread @ item.information(middle, draws)).real))


class Told:
    """Quantities of which one may be named as that which a reading mattered most for.

    Parameters
    ----------
    drawn : mapping
        Draws of each, (N,), with its unit. What has no spread or no number is left out.
    """

    def __init__(self, drawn: Mapping[Named, tuple[Array, str]]) -> None:
        self._drawn = {
            name: (array, unit)
            for name, (array, unit) in drawn.items()
            if np.isfinite(array).all() and np.ptp(array) > 0
        }

    @functools.cached_property
    def _scores(self) -> Array:
        return weighing.normal_scores(np.stack([array for array, _ in self._drawn.values()]))

    def mattered(self, weights: pareto.Weights, least: float) -> Mattered | None:
        """Return what differs most with and without a reading, if anything differs by ``least`` bits."""
        if not self._drawn:
            return None
        bits = weighing.changed(self._scores, weights.share)
        top = int(np.argmax(bits))
        if bits[top] < least:
            return None
        (of, name), (array, unit) = list(self._drawn.items())[top]
        even = np.full(len(array), 1.0 / len(array))
        return Mattered(
            of=of,
            figure=name,
            bits=float(bits[top]),
            unit=unit,
            without=_band(array, weights.share),
            now=_band(array, even),
        )


def _band(array: Array, share: Array) -> Band:
    low, middle, high = weighing.quantiles(array, share, _BAND)
    return Band(median=float(middle), p05=float(low), p95=float(high))


def alone(problem: Problem, played: Played, draws: Draws) -> dict[int, Array]:
    """Return the log-likelihood of each reading given the draws and all other readings, (N,) by number.

    Readings whose own size of error is learnt in common are not independent
    given the draws: what one of them adds is all of them less all but it.
    """
    out: dict[int, Array] = {}
    for item in problem.evidence:
        if item.doubt is None:
            out[item.number] = _height(item, played, draws, 0.0)
    for doubt in problem.doubts:
        sizes, weights = error_sizes(doubt)
        mine = [item for item in problem.evidence if item.doubt == doubt]
        each = {i.number: np.stack([_height(i, played, draws, s) for s in sizes]) for i in mine}
        whole = np.sum(list(each.values()), axis=0) + np.log(weights)[:, None]
        total = logsumexp(whole, axis=0)
        for number, rows in each.items():
            out[number] = np.asarray(total - logsumexp(whole - rows, axis=0))
    return out


def _height(item: Evidence, played: Played, draws: Draws, size: float) -> Array:
    mu = played.predicted[item.number]
    known = ~np.isnan(mu).any(axis=0)
    return np.where(known, item.log_density(np.nan_to_num(mu), draws, size), 0.0)
