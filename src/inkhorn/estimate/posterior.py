"""From a daybook to posterior draws, and from those to figures."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np

from inkhorn.chemistry import binding
from inkhorn.daybook.entries import Mark
from inkhorn.estimate import flags, smc
from inkhorn.estimate.figures import Figure, figure
from inkhorn.estimate.likelihood import Array
from inkhorn.estimate.problem import Problem, make_problem
from inkhorn.estimate.result import Estimate, VesselEstimate
from inkhorn.replay import composition, dissolve, luck, seen, strokes, target
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, Played
from inkhorn.replay.liquor import NOTHING
from inkhorn.replay.predict import ML_PER_L, MMOL_PER_MOL
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.world import VesselState

PARTICLES = 1024


@attrs.frozen(kw_only=True, eq=False)
class Posterior:
    """Posterior draws of one daybook, with the replay that they give."""

    problem: Problem
    seed: int
    z: Array
    ess: float
    log_evidence: float
    reports: tuple[smc.Report, ...]
    played: Played
    draws: Draws


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
        got = smc.Sample(
            z=start, log_likelihood=np.zeros(particles), ess=particles, log_evidence=0.0, reports=()
        )
    return from_particles(problem, seed, got.z, got.ess, got.log_evidence, got.reports)


def from_particles(
    problem: Problem, seed: int, z: Array, ess: float, log_evidence: float, reports: tuple[smc.Report, ...]
) -> Posterior:
    """Return the posterior that stored particles stand for (a warm start from the cache)."""
    played, draws = problem.played(z)
    return Posterior(
        problem=problem,
        seed=seed,
        z=z,
        ess=ess,
        log_evidence=log_evidence,
        reports=reports,
        played=played,
        draws=draws,
    )


def summarise(post: Posterior) -> Estimate:
    """Return the estimate that a person reads, from posterior draws."""
    return Estimate(
        seed=post.seed,
        draws=post.draws.n,
        ess=post.ess,
        vessels={name: _vessel(name, state, post) for name, state in post.played.world.vessels.items()},
        lots=_lots(post),
        misfit={
            "stroke": figure(stroke_scatter(post), "1"),
            "channel": figure(post.problem.size_of_error("channel", post.played, post.draws), "1"),
            "thickness": figure(post.problem.size_of_error("thickness", post.played, post.draws), "1"),
        },
        flags=flags.found(post.problem, post.z, post.played),
        unknowns=len(post.problem.unknowns),
        log_evidence=post.log_evidence,
    )


def stroke_scatter(post: Posterior) -> Array:
    """Return the natural-log scatter of films from trial to trial, (N,)."""
    place = standard_normal(post.seed, "misfit/stroke", post.draws.n)
    return luck.size_given(tuple(post.problem.plan.shelf.trials), post.draws, place)


def _lots(post: Posterior) -> dict[str, dict[str, Figure]]:
    out: dict[str, dict[str, Figure]] = {}
    keys = {"tannin": ("tannin", "tannin_fraction"), "iron salt": ("iron", "iron_fraction"),
            "gum": ("soluble", "gum_soluble")}  # fmt: skip
    for name, lot in post.played.world.lots.items():
        if not dissolve.is_material(lot.material) or lot.withheld:
            continue
        found: dict[str, Figure] = {}
        kind = dissolve.role(lot.material)
        if kind in keys:
            key, label = keys[kind]
            found[label] = figure(dissolve.lot_number(post.draws, name, lot.material, key), "1")
        if lot.mass is not None:
            found["mass_left"] = figure(lot.mass, "g")
        out[name] = found
    return out


@attrs.frozen(kw_only=True)
class Hand:
    """The pen and the support that a vessel's ink was last tried with."""

    tool: str
    pen_kind: str | None
    method: str
    support: str


def usual_hand(vessel: str, plan: Plan) -> Hand:
    """Return how a vessel's ink is marked: its last undiluted pen trial, else any, else a quill on skin."""
    marks = [e.entry for e in plan.entries if isinstance(e.entry, Mark)]
    own = [m for m in marks if m.vessel == vessel and m.thinned is None]
    others = [m for m in marks if m.thinned is None]
    for m in (*reversed(own), *reversed(others)):
        if m.method in ("pen", "line", "pangram"):
            pen = plan.shelf.pens.get(m.pen) if m.pen else None
            return Hand(
                tool=m.pen or "", pen_kind=pen.material if pen else None, method="pen", support=m.support
            )
    support = others[-1].support if others else ""
    return Hand(tool="", pen_kind=None, method="pen", support=support)


def dry_density(
    state: VesselState, hand: Hand, support: Array, draws: Draws, *, temperature: Array | None = None
) -> Array:
    """Return the density of a usual dry stroke of a vessel's ink, (N, 3)."""
    writing = state.temperature if temperature is None else temperature
    film = strokes.film_laid(
        tool=hand.tool,
        method=hand.method,
        viscosity=seen.viscosity(state.liquor, writing, draws),
        draws=draws,
        pen_kind=hand.pen_kind,
    )
    ink = strokes.one_ml(state.liquor, state.temperature)
    return strokes.density(strokes.areal(ink, film, 1.0, draws), support, draws)


def _vessel(name: str, state: VesselState, post: Posterior) -> VesselEstimate:
    if state.withheld:
        return VesselEstimate(figures={}, dry_optical_density={}, dry_lab={}, withheld=state.withheld)
    draws, liquor, warm = post.draws, state.liquor, state.temperature
    volume = composition.volume(liquor, warm)
    if not np.median(volume) > 0:
        return VesselEstimate(figures={"volume": figure(volume, "ml")}, dry_optical_density={}, dry_lab={})
    held = composition.dry_binding(liquor, draws)
    litre = ML_PER_L / np.maximum(volume, NOTHING)
    figures = {
        "volume": figure(volume, "ml"),
        "temperature": figure(warm - ZERO_CELSIUS, "degC"),
        "iron_total": figure(held.iron * litre * MMOL_PER_MOL, "mmol/L"),
        "iron_capacity": figure(held.capacity * litre * MMOL_PER_MOL, "mmol/L"),
        "iron_to_capacity": figure(binding.iron_to_capacity(held.iron, held.capacity), "1"),
        "free_iron": figure((held.iron - held.bound) * litre * MMOL_PER_MOL, "mmol/L"),
        "ph": figure(seen.acidity(liquor, warm, draws), "1"),
        "viscosity": figure(seen.viscosity(liquor, warm, draws), "mPa s"),
        "gum": figure((liquor["gum"] + liquor["gel"]) * litre, "g/L"),
        "dissolved_solids": figure(seen.dry_residue(liquor, draws) * litre, "g/L"),
        "specific_gravity": figure(seen.specific_gravity(liquor, warm, draws), "1"),
    }
    hand = usual_hand(name, post.problem.plan)
    scene = post.problem.plan.scene
    support = scene.supports.get(hand.support)
    if support is None:
        support = target.default_support()
    density = dry_density(state, hand, support, draws)
    lab = strokes.lab_on(density, strokes.bare_rgb(support))
    return VesselEstimate(
        figures=figures,
        dry_optical_density={c: figure(density[:, i], "1") for i, c in enumerate(strokes.CHANNELS)},
        dry_lab={c: figure(lab[:, i], "1") for i, c in enumerate(("L", "a", "b"))},
    )


def doubts(plan: Plan, number: int) -> tuple[str, ...]:
    """Return plain-word doubts about one reading as it is recorded; see `flags.on_recording`."""
    return flags.on_recording(make_problem(plan), number)
