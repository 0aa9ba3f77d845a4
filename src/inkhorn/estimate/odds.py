r"""Two ways in which something may have been made, weighed as odds.

Each way is a daybook of its own. What both must explain is the same: either the
same readings, weighed by the sampler's marginal likelihood ``p(readings | way)``;
or one measured page, weighed by ``p(page | way) = E[N(page; foreseen, C)]`` over
the draws of each way's pot, the stroke foreseen on the page's own skin and aged
as the page may have aged. Odds are the ratio of the two (Kass and Raftery 1995),
both ways being equally likely beforehand.

The sampler's evidence has an error of its own. Each way is therefore sampled
with several seeds; the scatter between them, pooled, gives the 90 % interval by
Student's t.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any, Literal

import attrs
import numpy as np
from scipy.special import logsumexp, stdtrit

from inkhorn.daybook.book import Recorded
from inkhorn.errors import EstimateError
from inkhorn.estimate import contents
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.replay import composition, target
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import NOTHING
from inkhorn.replay.target import Target

Basis = Literal["readings", "page"]
Sampled = Callable[[int], Posterior]
#: Seeds that each way is sampled with.
RUNS = 3
# numbers-in-code: the upper end of a 90 % interval
_UPPER = 0.95
#: What does not tell one reading from another: when it was taken, and what was said beside it.
_BESIDE = frozenset({"at", "note", "picture", "kind", "number"})


@attrs.frozen(kw_only=True)
class Odds:
    """How much likelier the first way is than the second.

    Parameters
    ----------
    log_odds, error : float
        Natural logarithm of the odds for the first way, and the half width of its 90 % interval.
    basis : str
        What both were held against: the same ``readings``, or one ``page``.
    against : str
        The page's name, or how many readings.
    log_evidence : tuple of tuple of float
        Of each way, one a seed.
    """

    log_odds: float
    error: float
    basis: Basis
    against: str
    log_evidence: tuple[tuple[float, ...], tuple[float, ...]]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form; odds beyond what a number holds are null."""
        ends = {"p05": self.log_odds - self.error, "median": self.log_odds, "p95": self.log_odds + self.error}
        with np.errstate(over="ignore"):
            odds = {k: float(np.exp(v)) for k, v in ends.items()}
        return {
            "odds": {k: v if np.isfinite(v) else None for k, v in odds.items()},
            "log_odds": self.log_odds,
            "error": self.error,
            "basis": self.basis,
            "against": self.against,
            "log_evidence": [list(runs) for runs in self.log_evidence],
        }


def weigh(first: Sequence[float], second: Sequence[float]) -> tuple[float, float]:
    """Return the log-odds of two ways from the evidence of several runs each, and half its 90 % interval.

    Raises
    ------
    EstimateError
        With fewer than two runs of each there is no telling how sure the evidence is.
    """
    if min(len(first), len(second)) < 2:
        raise EstimateError(
            "one run of each way does not tell how sure its evidence is", mend="Make two or more"
        )
    one, two = np.asarray(first), np.asarray(second)
    free = len(one) + len(two) - 2
    scatter = (np.sum((one - one.mean()) ** 2) + np.sum((two - two.mean()) ** 2)) / free
    error = np.sqrt(scatter * (1 / len(one) + 1 / len(two)))
    return float(one.mean() - two.mean()), float(stdtrit(free, _UPPER) * error)


def weigh_ways(
    first: Sampled,
    second: Sampled,
    *,
    exemplar: str | None = None,
    vessel: str | None = None,
    seed: int = 0,
    runs: int = RUNS,
) -> Odds:
    """Weigh two ways of making.

    Parameters
    ----------
    first, second : callable
        Give each way's posterior for a seed.
    exemplar : str, optional
        The page that both are held against; if left out, the readings where
        both have the same, else the one page that both know.
    vessel : str, optional
        The pot that is written with, where that is not plain.
    """
    seeds = range(seed, seed + runs)
    mine, theirs = first(seed), second(seed)
    plans = mine.problem.plan, theirs.problem.plan
    page = None
    if exemplar is not None or not same_readings(*plans):
        page = shared_page(*plans, exemplar)
    pairs = [(mine, theirs), *((first(s), second(s)) for s in seeds[1:])]
    if page is None:
        evidence = tuple(tuple(p.log_evidence for p in way) for way in zip(*pairs, strict=True))
        against = _counted(len(plans[0].evidence))
    else:
        evidence = tuple(
            tuple(page_evidence(p, page, vessel) for p in way) for way in zip(*pairs, strict=True)
        )
        against = page.name
    log_odds, error = weigh(*evidence)
    return Odds(
        log_odds=log_odds,
        error=error,
        basis="readings" if page is None else "page",
        against=against,
        log_evidence=(evidence[0], evidence[1]),
    )


def same_readings(first: Plan, second: Plan) -> bool:
    """Say whether two daybooks have the same readings, and any."""
    mine, theirs = (Counter(map(_said, plan.evidence)) for plan in (first, second))
    return bool(mine) and mine == theirs


def _said(line: Recorded) -> str:
    return json.dumps({k: v for k, v in line.raw.items() if k not in _BESIDE}, sort_keys=True, default=str)


def shared_page(first: Plan, second: Plan, exemplar: str | None) -> Target:
    """Return the page that both daybooks measured the same.

    Raises
    ------
    EstimateError
        There is none, or more than one and none was named.
    """
    mine, theirs = first.scene.targets, second.scene.targets
    both = [name for name, goal in mine.items() if name in theirs and _is_same(goal, theirs[name])]
    if exemplar is not None:
        both = [name for name in both if name == exemplar]
    if len(both) == 1:
        return mine[both[0]]
    if both:
        raise EstimateError(
            f"both know the pages {', '.join(both)}", mend="Name the one that they are to be weighed by"
        )
    raise EstimateError(
        f"the two were held against different things: {_differ(first, second)}",
        mend="Odds need one thing that both ways must explain: record the same readings in both, or the same page",
    )


def _is_same(one: Target, other: Target) -> bool:
    return bool(np.allclose(one.density, other.density) and np.allclose(one.covariance, other.covariance))


def _counted(n: int) -> str:
    return "1 reading" if n == 1 else f"{n} readings"


def _differ(first: Plan, second: Plan) -> str:
    mine, theirs = (Counter(map(_said, plan.evidence)) for plan in (first, second))
    only = _counted((mine - theirs).total()), _counted((theirs - mine).total())
    counts = f"{only[0]} only in the first, {only[1]} only in the second"
    apart = sorted(set(first.scene.targets) & set(second.scene.targets))
    return f"{counts}{f', and {apart[0]} was not measured the same' if apart else ', and no page is in both'}"


def pot_of(post: Posterior, vessel: str | None) -> str:
    """Return the pot that a page would have been written from: the one named, the only one, the last written with."""
    world = post.played.world
    full = [n for n, s in world.vessels.items() if np.median(composition.volume(s.liquor, s.temperature)) > 1]
    if vessel is not None:
        full = [name for name in full if name == vessel]
    if len(full) > 1:
        written = [trial.vessel for trial in world.trials.values() if trial.vessel in full]
        full = written[-1:] or full
    if len(full) != 1:
        what = "no vessel holds ink" if not full else f"ink is in {', '.join(full)}"
        raise EstimateError(what, mend="Name the vessel that is written with")
    state = world.vessels[full[0]]
    if state.withheld:
        raise EstimateError(state.withheld, where=full[0])
    return full[0]


def page_evidence(post: Posterior, page: Target, vessel: str | None) -> float:
    """Return the log-density of a measured page under one way, over its draws."""
    plan, draws = post.problem.plan, post.draws
    name = pot_of(post, vessel)
    state = post.played.world.vessels[name]
    stroke = contents.dry_stroke(state, contents.usual_hand(name, plan), plan, page.reflectance, draws)
    # How much of its density a page like this has lost, by the draws of ageing.
    kept = target.density_now(page, draws) / np.maximum(target.density_new(page, draws), NOTHING)
    foreseen = stroke.density * kept
    return average(foreseen, page.density, page.covariance + own_scatter(page.density))


def own_scatter(density: Array) -> Array:
    """Return the covariance of one stroke beside another of the same ink, (3, 3): its film, and each channel's own."""
    film = value("misfit.stroke") * density
    return np.outer(film, film) + value("misfit.channel") ** 2 * np.eye(len(density))


def average(foreseen: Array, seen: Array, covariance: Array) -> float:
    """Return the log of the mean normal density of what was seen (3,) over what was foreseen (N, 3)."""
    off = foreseen - seen
    _, log_det = np.linalg.slogdet(2 * np.pi * covariance)
    height = -0.5 * (np.sum(off @ np.linalg.inv(covariance) * off, axis=1) + log_det)
    return float(logsumexp(height) - np.log(len(foreseen)))
