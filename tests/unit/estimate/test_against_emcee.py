"""The estimate of a small daybook against an independent sampler, emcee (Foreman-Mackey and others 2013)."""

from __future__ import annotations

import emcee
import numpy as np
import pytest

from inkhorn.estimate.posterior import Posterior, sample_posterior
from inkhorn.estimate.problem import Problem
from inkhorn.replay import composition
from inkhorn.replay.fold import make_plan
from support.daybooks import recorded

DAY = "2026-09-01T"
BOOK = [
    {"at": DAY + "08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 1000 ml"},
    {"at": DAY + "08:10", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 30 g"},
    {"at": DAY + "09:00", "kind": "reading", "of": "vessel:pot", "what": "volume", "value": "1100 ml", "sd": "40 ml"},
    {"at": DAY + "09:10", "kind": "reading", "of": "vessel:pot", "what": "total_iron", "value": "85 mmol/L", "sd": "5 mmol/L"},
]  # fmt: skip
WALKERS, STEPS, DROPPED, SEED = 96, 900, 300, 11


def _figures(problem: Problem, z: np.ndarray) -> np.ndarray:
    """Return log volume and log grams of iron of the pot on each draw, (2, N): both are read and both are unknown."""
    played, _ = problem.played(z)
    state = played.world.vessels["pot"]
    volume = composition.volume(state.liquor, state.temperature)
    return np.log([volume, composition.iron_total(state.liquor)])


def _by_emcee(problem: Problem, *, believed: float = 1.0) -> np.ndarray:
    """Return draws, (D, N), of the same posterior; ``believed`` is a power of the likelihood: 1, or a mistake."""
    d = len(problem.unknowns)

    def log_posterior(z: np.ndarray) -> np.ndarray:
        columns = np.ascontiguousarray(z.T)
        return believed * problem.log_likelihood(columns) - np.sum(columns**2, axis=0) / 2

    start = np.random.default_rng(SEED).standard_normal((WALKERS, d)) / 2
    sampler = emcee.EnsembleSampler(WALKERS, d, log_posterior, vectorize=True, moves=emcee.moves.DEMove())
    # emcee keeps a random state of its own; this is how it is seeded.
    sampler._random = np.random.RandomState(SEED)
    sampler.run_mcmc(start, STEPS, skip_initial_state_check=True)
    return np.asarray(sampler.get_chain(discard=DROPPED, flat=True).T)


@pytest.fixture(scope="module")
def post() -> Posterior:
    """Sample the daybook once by our own sampler."""
    return sample_posterior(make_plan(recorded(BOOK)), particles=2048)


def test_means_and_spreads_agree_with_emcee(post: Posterior) -> None:
    """Volume and iron have the same mean (within 0.15 sd) and sd (within 10 %) by both samplers."""
    ours, theirs = _figures(post.problem, post.z), _figures(post.problem, _by_emcee(post.problem))
    assert (np.abs(ours.mean(axis=1) - theirs.mean(axis=1)) < 0.15 * theirs.std(axis=1)).all()
    np.testing.assert_allclose(ours.std(axis=1), theirs.std(axis=1), rtol=0.1)


def test_readings_counted_four_times_are_noticed(post: Posterior) -> None:
    """Twin that must fail: with every reading counted four times the spread is plainly another."""
    ours = _figures(post.problem, post.z)
    theirs = _figures(post.problem, _by_emcee(post.problem, believed=4.0))
    assert (theirs.std(axis=1) < 0.8 * ours.std(axis=1)).any()
