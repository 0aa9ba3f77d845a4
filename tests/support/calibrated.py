"""Simulation-based calibration: truths and readings drawn from the model itself, and where the truths rank.

S. Talts, M. Betancourt, D. Simpson, A. Vehtari and A. Gelman, Validating Bayesian inference
algorithms with simulation-based calibration, arXiv:1804.06788, 2018.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import attrs
import numpy as np
from scipy import stats

from inkhorn.chemistry import binding
from inkhorn.estimate import smc
from inkhorn.estimate.evidence.base import Evidence
from inkhorn.estimate.evidence.numbers import Number, scale_of
from inkhorn.estimate.evidence.words import Ordered
from inkhorn.estimate.problem import Problem, make_problem
from inkhorn.handbook.load import row, value
from inkhorn.replay import composition, seen
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Played, make_plan
from support.daybooks import recorded

#: A small invented bench: what was done.
STEPS: list[dict[str, Any]] = [
    {"at": "2026-09-01T08:00", "kind": "steep", "lot": "sumac-leaf", "amount": "about 300 g",
     "liquid": "spring water", "liquid_amount": "about 3 L", "into": "tub", "for": "16 h", "pieces": "crushed"},
    {"at": "2026-09-02T08:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-02T09:00", "kind": "reduce", "vessel": "pot", "to": "about 900 ml"},
    {"at": "2026-09-02T12:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 30 g"},
    {"at": "2026-09-02T12:10", "kind": "add", "into": "pot", "lot": "plum-gum", "amount": "about 25 g"},
    {"at": "2026-09-02T13:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1",
     "method": "pen", "pen": "reed-3mm"},
]  # fmt: skip
#: What was read of it, each with a figure of the right size, for the error that its instrument has there.
READINGS: list[tuple[str, str, Any, dict[str, Any]]] = [
    ("vessel:pot", "volume", "about 900 ml", {}),
    ("vessel:pot", "ph", "2.8", {"with": "strip"}),
    ("vessel:pot", "specific_gravity", "1.05", {}),
    ("vessel:pot", "viscosity", "3 mPa s", {}),
    ("vessel:pot", "total_iron", "110 mmol/L", {}),
    ("vessel:pot", "body", "flows well", {}),
    ("trial:t1", "optical_density", {"R": 0.9, "G": 0.9, "B": 0.9}, {"sd": 0.03}),
]
#: Ranks fall into so many classes.
CLASSES = 8


def small_bench() -> Problem:
    """Return the small bench; what was read is drawn anew for each truth."""
    at = {"at": "2026-09-04T10:00", "kind": "reading"}
    read = [{**at, "of": of, "what": what, "value": said, **more} for of, what, said, more in READINGS]
    return make_problem(make_plan(recorded([*STEPS, *read])))


def told(item: Evidence, mu: np.ndarray, sizes: dict[str, float], rng: np.random.Generator) -> Evidence:
    """Return a reading as it might have been made of a truth, drawn from its own likelihood."""
    if isinstance(item, Ordered):
        none = Draws({}, np.zeros((0, 1)))
        all_ = [attrs.evolve(item, place=k) for k in range(len(item.cuts) + 1)]
        chance = np.exp([float(one.log_density(mu[:, None], none)[0]) for one in all_])
        return all_[int(rng.choice(len(all_), p=chance / chance.sum()))]
    assert isinstance(item, Number)
    nu = value("misfit.tail")
    spread = np.sqrt(scale_of(item.variance + sizes.get(item.doubt or "", 0.0) ** 2))
    off = rng.standard_normal(len(mu)) * spread / math.sqrt(rng.chisquare(nu) / nu)
    return attrs.evolve(item, observed=mu + item.axes @ off)


def main_figures(played: Played, draws: Draws) -> dict[str, np.ndarray]:
    """Return the eight figures of a pot that counsel rests on, (N,) each."""
    pot = played.world.vessels["pot"]
    liquor, warm = pot.liquor, pot.temperature
    held = composition.dry_binding(liquor, draws)
    return {
        "volume": composition.volume(liquor, warm),
        "iron": held.iron,
        "capacity": held.capacity,
        "iron to capacity": binding.iron_to_capacity(held.iron, held.capacity),
        "pH": seen.acidity(liquor, warm, draws),
        "viscosity": seen.viscosity(liquor, warm, draws),
        "gum": liquor["gum"] + liquor["gel"],
        "solids": seen.dry_residue(liquor, draws),
    }


def believing(item: Evidence, share: float) -> Evidence:
    """Return a reading whose error is claimed to be a share of what it is: 1 is honest."""
    return item if isinstance(item, Ordered) else attrs.evolve(item, variance=item.variance * share**2)


def ranks(
    base: Problem, seeds: Iterable[int], *, particles: int = 256, believed: float = 1.0
) -> dict[str, np.ndarray]:
    """Return for each main figure the share of posterior draws below the truth, one for each seed.

    Parameters
    ----------
    base : Problem
        A bench whose readings are drawn anew.
    particles : int
        Draws of each posterior.
    believed : float
        Share of its true error that each figure is taken to have; other than 1 it is a broken likelihood.
    """
    found: dict[str, list[float]] = {}
    for seed in seeds:
        rng = np.random.default_rng(seed)
        played, draws = base.played(rng.standard_normal((len(base.unknowns), 1)))
        sizes = {d: float(row(f"misfit.{d}").at(rng.standard_normal(1))[0]) for d in base.doubts}
        read = tuple(told(i, played.predicted[i.number][:, 0], sizes, rng) for i in base.evidence)
        problem = attrs.evolve(base, evidence=tuple(believing(item, believed) for item in read))
        got = smc.sample(problem, problem.prior(seed, particles), rng)
        true, post = main_figures(played, draws), main_figures(*problem.played(got.z))
        for name, drawn in post.items():
            found.setdefault(name, []).append(float(np.mean(drawn < true[name])))
    return {name: np.array(shares) for name, shares in found.items()}


def evenness(shares: np.ndarray) -> float:
    """Return the probability of ranks at least as uneven as these, by the chi-square of at most `CLASSES` classes."""
    classes = min(CLASSES, max(2, len(shares) // 5))
    counts = np.histogram(shares, bins=classes, range=(0, 1))[0]
    return float(stats.chisquare(counts).pvalue)


def outside(found: dict[str, np.ndarray]) -> float:
    """Return the share of all ranks outside the middle 80 % of the draws: a fifth where all is well."""
    return float(np.mean(np.abs(np.concatenate(list(found.values())) - 0.5) > 0.4))
