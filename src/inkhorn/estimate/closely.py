r"""What a reading taught where weights cannot tell: the posterior without it is sampled anew.

Draws that have seen a strong reading cannot stand for those that have not
(`inkhorn.estimate.pareto`). Draws of both can: the chance that the other readings
gave this one is the ratio of the two normalising constants, which differ by the
reading's likelihood ``L`` alone, and is found from both sets of draws at once by
the optimal bridge [MengWong1996]_,

.. math:: r = \frac{\mathrm{E}_{-i}[L / (n L + n_{-i} r)]}{\mathrm{E}[1 / (n L + n_{-i} r)]},
          \qquad D_i = \mathrm{E}\,[\log_2 L] - \log_2 r .

It takes as long as an estimate for each such reading, and is done where it is asked for.

References
----------
.. [MengWong1996] X.-L. Meng, W. H. Wong, Simulating ratios of normalizing constants via a simple identity:
   a theoretical exploration, Statistica Sinica 6 (1996) 831.
"""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from scipy.special import logsumexp

from inkhorn.errors import EstimateError
from inkhorn.estimate import learnt, smc, taught, weighing
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.figures import figure
from inkhorn.estimate.known import Band, Mattered, Taught
from inkhorn.estimate.problem import Problem
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan, Played
from inkhorn.replay.world import World

_ROUNDS, _SAME = 1000, 1e-8
Figures = dict[tuple[str, str], tuple[Array, str]]


@attrs.frozen(kw_only=True, eq=False)
class Cloud:
    """Draws of a posterior with what they are worth: whitened unknowns (D, N), and their replay."""

    problem: Problem
    z: Array
    played: Played
    draws: Draws
    ess: float
    seed: int


def retold(
    cloud: Cloud,
    told: tuple[Taught, ...],
    least: float,
    figures_of: Callable[[World, Plan, Draws], Figures],
    progress: Callable[[float], None] | None = None,
) -> tuple[Taught, ...]:
    """Return what readings taught, those that could not be told sampled anew without each, most first.

    Parameters
    ----------
    told : tuple of Taught
        As weights tell it.
    least : float
        Bits below which a reading is left as it is.
    figures_of : callable
        Gives the draws of every figure of a replay.
    """
    open_ = [item.entry for item in told if not item.sure and item.bits >= least]
    heights = taught.alone(cloud.problem, cloud.played, cloud.draws)
    now = figures_of(cloud.played.world, cloud.problem.plan, cloud.draws)
    by_entry = {item.entry: item for item in told}
    for done, entry in enumerate(open_, start=1):
        by_entry[entry] = _again(cloud, by_entry[entry], heights[entry], now, least, figures_of)
        if progress is not None:
            progress(done / len(open_))
    return tuple(sorted(by_entry.values(), key=lambda item: -item.bits))


def _again(
    cloud: Cloud,
    item: Taught,
    height: Array,
    now: Figures,
    least: float,
    figures_of: Callable[[World, Plan, Draws], Figures],
) -> Taught:
    try:
        got = without(cloud, item.entry)
    except EstimateError:
        return item
    # Replayed with the reading still in the plan: what it should have been, for those who have not seen it.
    played, draws = cloud.problem.played(got.z)
    unseen = taught.alone(cloud.problem, played, draws)[item.entry]
    log_chance, doubt = bridge(height, unseen, cloud.ess, got.ess)
    bits = weighing.BITS * (float(np.mean(height)) - log_chance)
    error = weighing.BITS * float(np.sqrt(np.var(height) / cloud.ess + doubt**2))
    before = figures_of(played.world, cloud.problem.plan, draws)
    most = _most(now, before, least) or _most(
        {(taught.UNKNOWN, k): v for k, v in learnt.drawn(cloud.problem, cloud.z).items()},
        {(taught.UNKNOWN, k): v for k, v in learnt.drawn(cloud.problem, got.z).items()},
        least,
    )
    return attrs.evolve(item, bits=max(bits, 0.0), error=error, sure=True, most=most)


def without(cloud: Cloud, entry: int) -> smc.Sample:
    """Return a sample of the posterior without one reading; the unknowns stay the same."""
    problem = attrs.evolve(
        cloud.problem, evidence=tuple(i for i in cloud.problem.evidence if i.number != entry)
    )
    n = cloud.z.shape[1]
    start = problem.prior(cloud.seed, n)
    if not problem.evidence:
        return smc.untold(start)
    rng = np.random.default_rng(np.random.SeedSequence([cloud.seed, entry]))
    return smc.sample(problem, start, rng)


def bridge(seen: Array, unseen: Array, n_seen: float, n_unseen: float) -> tuple[float, float]:
    """Return the log of the mean likelihood of a reading for those who have not seen it, and its error.

    Parameters
    ----------
    seen, unseen : ndarray, shape (N,)
        Log-likelihood of the reading on draws with it and without it.
    n_seen, n_unseen : float
        How many independent draws each is worth.
    """
    share, top = np.log(n_seen / (n_seen + n_unseen)), float(np.max(np.concatenate([seen, unseen])))
    other = np.log(n_unseen / (n_seen + n_unseen))
    one, two = seen - top, unseen - top
    log_r = 0.0
    for _ in range(_ROUNDS):
        above = two - np.logaddexp(share + two, other + log_r)
        below = -np.logaddexp(share + one, other + log_r)
        new = float(logsumexp(above) - np.log(len(two)) - logsumexp(below) + np.log(len(one)))
        if abs(new - log_r) < _SAME:
            break
        log_r = new
    parts = [(np.exp(above), n_unseen), (np.exp(below), n_seen)]
    variance = sum(float(np.var(f) / np.mean(f) ** 2) / n for f, n in parts)
    return log_r + top, float(np.sqrt(variance))


def _most(now: Figures, before: Figures, least: float) -> Mattered | None:
    """Return what differs most between two sets of draws, both made normal by their ranks in common."""
    best: Mattered | None = None
    for name, (array, unit) in now.items():
        other = before.get(name, (array, unit))[0]
        both = np.concatenate([array, other])
        if not np.isfinite(both).all() or np.ptp(array) <= 0 or np.ptp(other) <= 0:
            continue
        mine, theirs = np.split(weighing.normal_scores(both), [len(array)])
        spread = float(np.std(theirs))
        bits = weighing.gained(
            float(np.mean(mine - np.mean(theirs))) / spread, float(np.var(mine)) / spread**2
        )
        if bits >= least and (best is None or bits > best.bits):
            best = Mattered(
                of=name[0],
                figure=name[1],
                bits=bits,
                unit=unit,
                without=_band(other, unit),
                now=_band(array, unit),
            )
    return best


def _band(array: Array, unit: str) -> Band:
    told = figure(array, unit)
    return Band(median=told.median, p05=told.p05, p95=told.p95)
