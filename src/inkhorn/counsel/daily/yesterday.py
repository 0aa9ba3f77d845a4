"""The ink as it was when a trial was written with it, on the same draws as the ink of today."""

from __future__ import annotations

from datetime import datetime

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Mark
from inkhorn.errors import CounselError
from inkhorn.estimate.contents import Hand, dry_stroke
from inkhorn.estimate.posterior import Posterior
from inkhorn.replay import composition, seen, strokes, target
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, play, seconds_since
from inkhorn.replay.quiet import settle
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.target import Target
from inkhorn.replay.world import VesselState, but

Array = NDArray[np.float64]
#: Kinds of entry that change what is in a vessel.
_CHANGES = (
    "add",
    "pour",
    "strain",
    "steep",
    "reduce",
    "neutralise",
    "crystallise",
    "discard",
    "bring",
    "skim",
    "weather",
)


@attrs.frozen(kw_only=True, eq=False)
class Yesterday:
    """What an ink was like when a trial was written, on each draw.

    Parameters
    ----------
    density : ndarray, shape (N, 3)
        Dry stroke with the usual pen, the luck of that one stroke left out.
    viscosity : ndarray, shape (N,)
        As it was written with, mPa s.
    volume, strength : ndarray, shape (N,)
        ml of the vessel, and g of dry matter in a ml.
    untouched : bool
        Whether nothing was put in or taken out since.
    """

    density: Array
    viscosity: Array
    volume: Array
    strength: Array
    untouched: bool


def mark_of(plan: Plan, trial: str) -> tuple[int, Recorded, Mark]:
    """Return the place, the line and the entry of a trial; raise where there is none."""
    for place, item in enumerate(plan.entries):
        if isinstance(item.entry, Mark) and item.entry.trial == trial:
            return place, item, item.entry
    known = ", ".join(plan.shelf.trials) or "none yet"
    raise CounselError(f"there is no trial {trial!r}", mend=f"Trials of this daybook: {known}")


def support_of(plan: Plan, mark: Mark) -> Array:
    """Return the reflectance of the support that a trial was written on, (W,)."""
    found = plan.scene.supports.get(mark.support)
    return target.default_support() if found is None else found


def as_goal(plan: Plan, mark: Mark) -> Target:
    """Return a trial's support as something to aim at; what is aimed at there is set draw by draw."""
    reflectance = support_of(plan, mark)
    bare = strokes.bare_rgb(reflectance)
    return Target(
        name=f"trial:{mark.trial}",
        density=np.zeros(3),
        covariance=np.zeros((3, 3)),
        bare_lab=strokes.lab_on(np.zeros(3), bare),
        reflectance=reflectance,
        bare_rgb=bare,
        spread=np.zeros(3),
    )


def as_it_was(plan: Plan, trial: str, vessel: str, hand: Hand, draws: Draws) -> Yesterday:
    """Return the ink of a trial as it was when it was written."""
    place, item, mark = mark_of(plan, trial)
    world = play(attrs.evolve(plan, entries=plan.entries[: place + 1]), draws).world
    state = world.vessels.get(mark.vessel)
    if state is None or state.withheld:
        raise CounselError(
            f"what {trial} was written with is not known", where=mark.vessel, mend="Name another trial"
        )
    warm = state.temperature
    if mark.temperature is not None:
        warm = draws.amount(item.number, "temperature", mark.temperature) + ZERO_CELSIUS
    thick = seen.viscosity(state.liquor, warm, draws)
    laid = dry_stroke(
        but(state, temperature=warm), hand, plan, support_of(plan, mark), draws, viscosity=thick
    )
    return Yesterday(
        density=laid.density,
        viscosity=thick,
        volume=composition.volume(state.liquor, state.temperature),
        strength=strength(state),
        untouched=mark.vessel == vessel and not _touched(plan.entries[place + 1 :], vessel),
    )


def strength(state: VesselState) -> Array:
    """Return the g of dry matter in a ml, (N,)."""
    ml = composition.volume(state.liquor, state.temperature)
    return np.asarray(composition.dry_residue(state.liquor) / np.maximum(ml, 1e-9))


def _touched(entries: tuple[Recorded, ...], vessel: str) -> bool:
    return any(
        item.entry.kind in _CHANGES
        and vessel in (getattr(item.entry, k, None) for k in ("vessel", "into", "from_"))
        for item in entries
    )


def this_morning(
    post: Posterior, vessel: str, temperature: tuple[float, float] | None, at: datetime | None
) -> Posterior:
    """Return a posterior whose bench is that of this morning: time gone by, and a vessel as warm as was told.

    Parameters
    ----------
    temperature : (float, float), optional
        degC and its standard error; as the estimate has it where nobody said.
    at : datetime, optional
        When; the last entry if left out.
    """
    plan, world = post.problem.plan, post.played.world
    if at is not None:
        world = but(world, now=max(world.now, seconds_since(plan.start, at)))
        for name in world.vessels:
            world = settle(name, world, world.now, post.draws)
    state = world.vessels[vessel]
    if temperature is not None:
        celsius, sd = temperature
        warm = celsius + ZERO_CELSIUS + sd * standard_normal(post.seed, "today/temperature", post.draws.n)
        world = world.with_vessel(vessel, but(state, temperature=warm))
    return attrs.evolve(post, played=attrs.evolve(post.played, world=world))
