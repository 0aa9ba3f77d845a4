"""What was learnt of each unknown: its prior against its posterior."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from scipy.special import ndtri

from inkhorn.estimate import weighing
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.figures import Figure, figure
from inkhorn.estimate.known import Learnt
from inkhorn.estimate.problem import Problem
from inkhorn.replay import luck
from inkhorn.replay.draws import Unknown

# numbers-in-code: the percentiles of every uncertain figure
_PLACES = ndtri(np.array([0.05, 0.25, 0.5, 0.75, 0.95]))


def by_unknown(problem: Problem, z: Array, seed: int) -> tuple[Learnt, ...]:
    """Return what was learnt of every unknown, most first.

    Parameters
    ----------
    z : ndarray, shape (D, N)
        Draws of the posterior, whitened.
    seed : int
        Of the prior draws where a prior has no closed form.
    """
    rows = dict(zip(problem.unknowns, z, strict=True))
    values = drawn(problem, z)
    out = [
        _learnt(known, place_of(known, rows), *values[name])
        for name, known in problem.unknowns.items()
        if not luck.is_own(name)
    ]
    mine = _trials(problem)
    first = luck.scatter(tuple(mine), problem.draws(problem.prior(seed, z.shape[1]))) if mine else {}
    out += [_of_trial(name, np.exp(first[trial]), *values[name]) for trial, name in mine.items()]
    return tuple(sorted(out, key=lambda item: -item.bits))


def drawn(problem: Problem, z: Array) -> dict[str, tuple[Array, str]]:
    """Return the draws of every unknown, (N,), with its unit; of a trial's own film, the factor on it."""
    draws = problem.draws(z)
    out = {name: (draws.of(name, u.prior), u.prior.unit) for name, u in problem.unknowns.items()}
    mine = _trials(problem)
    if mine:
        scatter = luck.scatter(tuple(mine), draws)
        out |= {name: (np.exp(scatter[trial]), "1") for trial, name in mine.items()}
    return out


def place_of(known: Unknown, rows: Mapping[str, Array]) -> Array:
    """Return where in its prior an unknown lies, what it shares with others included: standard normal before, (N,)."""
    own = rows[known.name]
    if not known.common:
        return own
    return np.asarray(math.sqrt(known.share) * rows[known.common] + math.sqrt(1.0 - known.share) * own)


def _trials(problem: Problem) -> dict[str, str]:
    """Return the trials whose film has an unknown of its own, with its name."""
    mine = {trial: luck.unknown_of(trial) for trial in problem.plan.shelf.trials}
    return {trial: name for trial, name in mine.items() if name in problem.unknowns}


def _learnt(known: Unknown, place: Array, values: Array, unit: str) -> Learnt:
    variance = float(np.var(place))
    low, quarter, middle, upper, high = (float(v) for v in known.at(_PLACES))
    return Learnt(
        unknown=known.name,
        bits=weighing.gained(float(np.mean(place)), max(variance, np.finfo(float).eps)),
        left=variance,
        shape=known.prior.shape,
        prior=Figure(median=middle, p05=low, p25=quarter, p75=upper, p95=high, unit=unit),
        posterior=figure(values, unit),
    )


def _of_trial(name: str, before: Array, after: Array, unit: str) -> Learnt:
    """Return what was learnt of a trial's own film; the scatter that it is part of has no closed form."""
    size, centre = float(np.std(np.log(before))), float(np.mean(np.log(before)))
    mean, variance = (float(np.mean(np.log(after))) - centre) / size, float(np.var(np.log(after))) / size**2
    return Learnt(
        unknown=name,
        bits=weighing.gained(mean, max(variance, np.finfo(float).eps)),
        left=variance,
        shape="lognormal",
        prior=figure(before, unit),
        posterior=figure(after, unit),
    )
