"""A posterior carried on to a daybook that has grown, instead of sampled anew.

Which earlier state of the daybook an estimate is carried on from depends on
nothing but the daybook: the same daybook gives the same answer whether or not
the earlier state was ever estimated.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.estimate import smc
from inkhorn.estimate.likelihood import Array
from inkhorn.estimate.problem import Problem
from inkhorn.replay import luck, predict
from inkhorn.replay.draws import standard_normal

# numbers-in-code: readings between two estimates from nothing, few at first
_FEW, _MANY = 8, 16
_STEP, _STRIDE = 4, 8


@attrs.frozen(kw_only=True, eq=False)
class Particles:
    """A posterior as it is kept: names of the unknowns, their numbers (D, N), log-likelihoods and families (N,)."""

    names: tuple[str, ...]
    z: Array
    log_likelihood: Array
    family: NDArray[np.intp]
    ess: float
    log_evidence: float


def earlier(entries: Sequence[Recorded]) -> tuple[Recorded, ...] | None:
    """Return the earlier state that an estimate of these entries is carried on from, or None for from nothing.

    Parameters
    ----------
    entries : sequence of Recorded
        The effective entries in order of time.
    """
    read = [i for i, item in enumerate(entries) if _teaches(item)]
    if len(read) < _FEW:
        return None
    stride = _STEP if len(read) < _MANY else _STRIDE
    last = read[len(read) // stride * stride - 1]
    return None if last == len(entries) - 1 else tuple(entries[: last + 1])


def _teaches(item: Recorded) -> bool:
    return isinstance(item.entry, Reading) and not predict.is_fact(item.entry)


def carried(
    problem: Problem,
    kept: Particles,
    *,
    seed: int,
    progress: Callable[[float], None] | None = None,
) -> smc.Sample:
    """Carry kept particles on to a new problem.

    Parameters
    ----------
    problem : Problem
        Of the daybook as it is.
    kept : Particles
        Of the earlier state, whose unknowns are all there still (`can_carry`).

    Raises
    ------
    EstimateError
        The new readings are too much of a surprise.
    """
    n = kept.z.shape[1]
    rows = dict(zip(kept.names, kept.z, strict=True))
    old = _trials(kept.names)
    more = [name for name in _trials(problem.unknowns) if name not in rows]
    if more:
        fresh = np.array([standard_normal(seed, problem.plan.alias(name), n) for name in more])
        place = standard_normal(seed, "carry/scatter", n)
        grown = luck.with_more(_stack([rows[name] for name in old], n), fresh, place)
        rows |= dict(zip([*old, *more], grown, strict=True))
    z = _stack(
        [
            rows[name] if name in rows else standard_normal(seed, problem.plan.alias(name), n)
            for name in problem.unknowns
        ],
        n,
    )
    start = smc.Before(
        z=z,
        log_likelihood=kept.log_likelihood,
        family=kept.family,
        ess=kept.ess,
        log_evidence=kept.log_evidence,
    )
    rng = np.random.default_rng(np.random.SeedSequence([seed, n, 1]))
    return smc.renew(problem, start, rng, progress=progress)


def _trials(names: Iterable[str]) -> list[str]:
    return sorted(name for name in names if luck.is_own(name))


def _stack(rows: Sequence[Array], n: int) -> Array:
    return np.stack(rows) if rows else np.zeros((0, n))


def can_carry(problem: Problem, kept: Particles) -> bool:
    """Say whether every unknown of the earlier state is still one, so that its particles can be carried on."""
    return all(name in problem.unknowns for name in kept.names)
