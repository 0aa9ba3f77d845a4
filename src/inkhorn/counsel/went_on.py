"""What it tells that somebody asks again: none of the strips they have looked at was the match.

Who holds a dry strip beside the page and then asks what to do next has not
found it good. On a draw on which one of those strips would have matched, with
flow and iron in order, that is not likely (``counsel.went_on``). Nobody writes
this down, and it is what moves counsel on where every number still allows that
the pot be right as it is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry import binding
from inkhorn.colour.difference import ciede2000
from inkhorn.daybook.entries import Reading
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.replay import composition, of_trial, strokes, target
from inkhorn.replay.target import Target
from inkhorn.replay.world import TrialState

Array = NDArray[np.float64]


def match_within(goal: Target) -> float:
    """Return the distance from a page that counts as a match, CIEDE2000: a page's own letters may differ by more."""
    return max(value("counsel.match"), goal.tolerance)


def likelihood(post: Posterior, goal: Target, flow_band: tuple[float, float]) -> Array:
    """Return how likely it is on each draw that the maker went on after every strip looked at, (N,).

    Parameters
    ----------
    goal : Target
        The page, as it looks now.
    flow_band : tuple of float
        Thinnest and thickest ink that the pen writes with, mPa s.
    """
    out = np.ones(post.draws.n)
    theirs = strokes.lab_on(target.density_now(goal, post.draws), goal.bare_rgb)
    for name in _looked_at(post):
        good = _good(post, post.played.world.trials[name], goal, theirs, flow_band)
        out *= np.where(good, value("counsel.went_on"), 1.0)
    return out


def _looked_at(post: Posterior) -> list[str]:
    """Return the strips of plain ink of which somebody noted how they look."""
    seen = dict.fromkeys(
        e.entry.subject[1]
        for e in post.problem.plan.entries
        if isinstance(e.entry, Reading) and e.entry.subject[0] == "trial"
    )
    trials = post.played.world.trials
    return [n for n in seen if n in trials and trials[n].method != "drop" and not trials[n].withheld]


def _good(
    post: Posterior, trial: TrialState, goal: Target, theirs: Array, flow_band: tuple[float, float]
) -> NDArray[np.bool_]:
    """Say on which draws an ink matched the page when a strip of it was written, flow and iron in order, (N,).

    The stroke is the usual one: nobody judges an ink by a pen that happened to be full.
    """
    draws = post.draws
    tool, kind = of_trial.hand_of(trial, post.problem.plan.scene)
    thick = np.exp(of_trial.thickness(trial, draws))
    film = strokes.film_laid(tool=tool, method=trial.method, viscosity=thick, draws=draws, pen_kind=kind)
    usual = strokes.areal(trial.liquor, film, 1.0, draws, trial.chalk)
    mine = strokes.lab_on(strokes.density(usual, goal.reflectance, draws), goal.bare_rgb)
    near = ciede2000(mine, theirs) <= match_within(goal)
    held = composition.dry_binding(trial.liquor, draws)
    lasts = binding.iron_to_capacity(held.iron, held.capacity) <= value("permanence.iron_to_capacity.limit")
    return np.asarray(near & (thick >= flow_band[0]) & (thick <= flow_band[1]) & lasts)
