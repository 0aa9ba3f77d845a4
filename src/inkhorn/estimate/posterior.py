"""From a daybook to posterior draws, and from those to figures."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import EstimateError
from inkhorn.estimate import carry, contents, flags, knowledge, smc
from inkhorn.estimate import closely as closer
from inkhorn.estimate.figures import figure
from inkhorn.estimate.known import Taught
from inkhorn.estimate.likelihood import Array
from inkhorn.estimate.moves import Report
from inkhorn.estimate.problem import Problem, make_problem
from inkhorn.estimate.result import Estimate
from inkhorn.handbook.load import value
from inkhorn.replay import luck
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, Played

PARTICLES = 1024


@attrs.frozen(kw_only=True, eq=False)
class Posterior:
    """Posterior draws of one daybook, with the replay that they give."""

    problem: Problem
    seed: int
    z: Array
    family: NDArray[np.intp]
    ess: float
    log_evidence: float
    reports: tuple[Report, ...]
    played: Played
    draws: Draws
    log_likelihood: Array


def sample_posterior(
    plan: Plan,
    *,
    seed: int = 0,
    particles: int = PARTICLES,
    progress: Callable[[float], None] | None = None,
) -> Posterior:
    """Sample the unknowns of a plan given its readings.

    Parameters
    ----------
    seed : int
        The same seed, daybook and handbook give the same draws.
    particles : int
        How many draws.
    progress : callable, optional
        Told the share of the way.
    """
    problem = make_problem(plan)
    start = problem.prior(seed, particles)
    rng = np.random.default_rng(np.random.SeedSequence([seed, particles]))
    if problem.evidence and len(start):
        got = smc.sample(problem, start, rng, progress=progress)
    else:
        got = smc.untold(start)
    return _from_sample(problem, seed, got)


def carried_posterior(
    plan: Plan,
    kept: carry.Particles,
    *,
    seed: int = 0,
    progress: Callable[[float], None] | None = None,
) -> Posterior:
    """Carry an earlier posterior of the same daybook on; sample anew where that does not do.

    Parameters
    ----------
    plan : Plan
        The daybook as it is.
    kept : Particles
        Of its earlier state.
    """
    problem = make_problem(plan)
    n = kept.z.shape[1]
    if problem.evidence and carry.can_carry(problem, kept):
        try:
            got = carry.carried(problem, kept, seed=seed, progress=progress)
        except EstimateError:
            got = None
        if got is not None:
            return _from_sample(problem, seed, got)
    return sample_posterior(plan, seed=seed, particles=n, progress=progress)


def _from_sample(problem: Problem, seed: int, got: smc.Sample) -> Posterior:
    return from_particles(
        problem,
        seed,
        got.z,
        family=got.family,
        ess=got.ess,
        log_evidence=got.log_evidence,
        reports=got.reports,
    )


def from_particles(
    problem: Problem,
    seed: int,
    z: Array,
    *,
    family: NDArray[np.intp],
    ess: float,
    log_evidence: float,
    reports: tuple[Report, ...] = (),
) -> Posterior:
    """Return the posterior that particles stand for, rounded as they are kept: warm and cold answers are the same."""
    z = z.astype(np.float32).astype(np.float64)
    played, draws = problem.played(z)
    return Posterior(
        problem=problem,
        seed=seed,
        z=z,
        family=family,
        ess=ess,
        log_evidence=log_evidence,
        reports=reports,
        played=played,
        draws=draws,
        log_likelihood=problem.likelihood_of(played, draws),
    )


def summarise(
    post: Posterior, *, closely: bool = False, progress: Callable[[float], None] | None = None
) -> Estimate:
    """Return the estimate that a person reads, from posterior draws.

    Parameters
    ----------
    closely : bool
        Sample anew without each reading of which weights cannot tell what it
        taught; ``progress`` is told the share of the way.
    """
    known = knowledge.knowledge_of(post.problem, post.z, post.played, post.draws, post.seed, post.ess)
    if closely:
        known = attrs.evolve(known, taught=_closely(post, known.taught, progress))
    return Estimate(
        seed=post.seed,
        draws=post.draws.n,
        ess=post.ess,
        vessels=contents.vessels_of(post.played.world, post.problem.plan, post.draws),
        lots=contents.lots_of(post.played.world, post.draws),
        misfit={
            "stroke": figure(stroke_scatter(post), "1"),
            "channel": figure(post.problem.size_of_error("channel", post.played, post.draws), "1"),
            "thickness": figure(post.problem.size_of_error("thickness", post.played, post.draws), "1"),
        },
        flags=flags.found(post.problem, post.z, post.played),
        unknowns=len(post.problem.unknowns),
        log_evidence=post.log_evidence,
        knowledge=known,
    )


def _closely(
    post: Posterior, told: tuple[Taught, ...], progress: Callable[[float], None] | None
) -> tuple[Taught, ...]:
    cloud = closer.Cloud(
        problem=post.problem, z=post.z, played=post.played, draws=post.draws, ess=post.ess, seed=post.seed
    )
    return closer.retold(cloud, told, value("knowing.told"), knowledge.figures_of, progress)


def stroke_scatter(post: Posterior) -> Array:
    """Return the natural-log scatter of films from trial to trial, (N,)."""
    place = standard_normal(post.seed, "misfit/stroke", post.draws.n)
    return luck.size_given(tuple(post.problem.plan.shelf.trials), post.draws, place)


def doubts(plan: Plan, number: int) -> tuple[str, ...]:
    """Return plain-word doubts about one reading as it is recorded; see `flags.on_recording`."""
    return flags.on_recording(make_problem(plan), number)
