"""What a maker can look at to know when a step is done, what it would show, and how far it is off."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.estimate.contents import Hand, chalk_under
from inkhorn.flow import water
from inkhorn.handbook.load import row, value
from inkhorn.replay import composition, seen, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import NOTHING
from inkhorn.replay.strokes import areal, density, film_laid, one_ml
from inkhorn.replay.world import VesselState

Array = NDArray[np.float64]
LITRE = 1000.0
#: One drop with so many parts in all: what is tried for a strip that tells most.
THINNINGS = (1, 2, 3, 4, 6, 8, 12)


@attrs.frozen(kw_only=True, eq=False)
class Eye:
    """What looks at a pot: the usual hand, the support that drops are laid on and its reflectance (W,).

    ``parts`` is how far drops are thinned: one in so many.
    """

    hand: Hand
    plan: Plan
    reflectance: Array
    parts: int = 8


def volume(state: VesselState, draws: Draws, eye: Eye) -> Array:
    """Return the natural-log ml of a pot, (N,)."""
    del eye, draws
    return np.log(np.maximum(composition.volume(state.liquor, state.temperature), NOTHING))


def specific_gravity(state: VesselState, draws: Draws, eye: Eye) -> Array:
    """Return the specific gravity of a pot, cold, (N,)."""
    del eye
    return seen.specific_gravity(state.liquor, warmth.room(draws), draws)


def dry_residue(state: VesselState, draws: Draws, eye: Eye) -> Array:
    """Return the natural-log g/L that a dish keeps on drying, (N,)."""
    del eye
    ml = composition.volume(state.liquor, state.temperature)
    grams = seen.dry_residue(state.liquor, draws) * LITRE / np.maximum(ml, NOTHING)
    return np.log(np.maximum(grams, NOTHING))


def discharge(state: VesselState, draws: Draws, eye: Eye) -> Array:
    """Return the natural log of how many times as long as water it takes to run out of a fine jet, (N,)."""
    del eye
    cold = warmth.room(draws)
    return np.asarray(np.log(seen.viscosity(state.liquor, cold, draws) / water.viscosity(cold)))


def strip(state: VesselState, draws: Draws, eye: Eye) -> Array:
    """Return the mean channel density of a dry thinned drop, (N,), its own luck left out."""
    cold = warmth.room(draws)
    film = film_laid(
        tool="",
        method="drop",
        viscosity=seen.viscosity(state.liquor, cold, draws),
        draws=draws,
        pen_kind=None,
    )
    ink = one_ml(state.liquor, cold) * (1.0 / eye.parts)
    chalk = chalk_under(eye.hand, eye.plan, draws)
    return np.asarray(density(areal(ink, film, 1.0, draws, chalk), eye.reflectance, draws).mean(axis=-1))


READINGS: Mapping[str, Callable[[VesselState, Draws, Eye], Array]] = {
    "volume": volume,
    "specific_gravity": specific_gravity,
    "dry_residue": dry_residue,
    "discharge": discharge,
    "strip": strip,
}
#: Readings whose scale here is the natural logarithm.
LOGARITHMIC = frozenset({"volume", "dry_residue", "discharge"})
#: A level on a jug needs no stopping to look.
FREE = "volume"


def telling(state: VesselState, draws: Draws, eye: Eye) -> int:
    """Return how far drops of an ink are thinned to tell most: nearest to the density that is read best."""
    best = value("again.best_density")

    def off(parts: int) -> float:
        shown = float(np.median(strip(state, draws, attrs.evolve(eye, parts=parts))))
        return abs(float(np.log(max(shown, NOTHING) / best)))

    return min(THINNINGS, key=off)


def error(reading: str, *, spindle: bool, beside: bool = False) -> float:
    """Return the standard error of one reading on its scale.

    Parameters
    ----------
    spindle : bool
        Whether there is a hydrometer; without one a jug of known volume is weighed.
    beside : bool
        Whether drops are looked at beside those of the first ink, in one light and one picture.
    """
    if reading == "strip" and beside:
        return value("again.side_by_side")
    if reading == "specific_gravity":
        tool = "hydrometer" if spindle else "weighed_volume"
        return value(f"measures.instrument.{tool}.specific_gravity.absolute")
    check = "drop" if reading == "strip" else reading
    return value(f"counsel.check.{check}.error")


def trouble(reading: str) -> float:
    """Return by how much a reading must raise the chance of a match to be worth taking."""
    return value(f"again.trouble.{reading}")


def told(reading: str, place: float) -> float:
    """Return a place on a reading's scale as the figure that is read."""
    return float(np.exp(place)) if reading in LOGARITHMIC else float(place)


UNITS: Mapping[str, str] = {
    "volume": "ml",
    "specific_gravity": "1",
    "dry_residue": "g/L",
    "discharge": "times water",
    "strip": "1",
}


def drops_laid() -> int:
    """Return how many thinned drops are laid at once."""
    return int(row("again.drops").value)
