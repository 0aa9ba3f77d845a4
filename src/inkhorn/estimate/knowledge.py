"""What is known and whence: what each reading taught, what was learnt of each unknown, what is least known."""

from __future__ import annotations

import numpy as np

from inkhorn.estimate import contents, lacking, learnt, taught
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.known import Knowledge
from inkhorn.estimate.problem import Problem
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan, Played
from inkhorn.replay.world import World

Figures = dict[tuple[str, str], tuple[Array, str]]


def knowledge_of(
    problem: Problem, z: Array, played: Played, draws: Draws, seed: int, ess: float
) -> Knowledge:
    """Return what is known and whence, from posterior draws and their replay.

    Parameters
    ----------
    z : ndarray, shape (D, N)
        Draws of the unknowns, whitened; ``played`` and ``draws`` are their replay.
    ess : float
        How many independent draws these are worth.
    """
    now = figures_of(played.world, problem.plan, draws)
    first, first_draws = problem.played(problem.prior(seed, z.shape[1]))
    rows = dict(zip(problem.unknowns, z, strict=True))
    return Knowledge(
        taught=taught.by_reading(
            problem, played, draws, ess, now, learnt.drawn(problem, z), value("knowing.told")
        ),
        learnt=learnt.by_unknown(problem, z, seed),
        least_known=lacking.least_known(
            now,
            figures_of(first.world, problem.plan, first_draws),
            {name: learnt.place_of(known, rows) for name, known in problem.unknowns.items()},
        ),
    )


def figures_of(world: World, plan: Plan, draws: Draws) -> Figures:
    """Return the draws of every figure of every vessel and lot, with its unit, by whose and which.

    Of a dry stroke the mean of the three channels stands for its depth.
    """
    out: Figures = {}
    for name, state in world.vessels.items():
        drawn = contents.drawn_vessel(name, state, plan, draws)
        out |= {(f"vessel:{name}", key): found for key, found in drawn.figures.items()}
        if drawn.density is not None:
            out[f"vessel:{name}", "dry_optical_density"] = (np.mean(drawn.density, axis=1), "1")
    for name, found in contents.drawn_lots(world, draws).items():
        out |= {(f"lot:{name}", key): one for key, one in found.items()}
    return out
