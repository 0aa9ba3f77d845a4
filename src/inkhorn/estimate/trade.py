"""What makes up for one another in every stroke: how much the iron binds, and how strongly that absorbs."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.estimate.aim import Array, Exchange
from inkhorn.handbook.load import row
from inkhorn.replay import strokes
from inkhorn.replay.draws import Draws, Unknown
from inkhorn.replay.fold import Plan, play
from inkhorn.replay.liquor import NOTHING

_LOOKED_AT = frozenset({"optical_density", "photo", "lab", "depth", "hue"})
_PAID = ("gallate", "catecholate")
#: What a trade moves: how strong the materials are, and how steeping, boiling and standing brought that out. Not how
#: much was poured (jugs and levels hold that fast) and not how an ink lies and looks.
_OF_STRENGTH = ("lot:", "soak/", "pot/", "film/", "ink/sites.", "ink/slack", "ink/solids_acid")


def exchange_of(plan: Plan, unknowns: Mapping[str, Unknown]) -> Exchange | None:
    """Return the trade of bound iron against the strength of its colour; None where no stroke was looked at.

    The light that a stroke takes depends on the iron that its film binds only
    through the product with the absorptivity of the complex. What is paid with
    are the two absorptivities; what is moved says how strong the pots are.
    """
    trials = _looked_at(plan)
    names = list(unknowns)
    paid = [kind for kind in _PAID if f"ink/strength.{kind}" in unknowns]
    free = [i for i, name in enumerate(names) if name.startswith(_OF_STRENGTH)]
    if not (trials and paid and free):
        return None
    everything = frozenset(item.number for item in plan.evidence)

    def worth(z: Array) -> Array:
        draws = Draws(unknowns, z)
        world = play(plan, draws, defer=everything).world
        total = np.zeros((len(paid), draws.n))
        there = [world.trials[t] for t in trials if t in world.trials and not world.trials[t].withheld]
        for trial in there:
            film = strokes.areal(trial.liquor, trial.film, 1.0, draws, trial.chalk)
            total += np.log(np.maximum([getattr(film, kind) for kind in paid], NOTHING)) / len(there)
        return total

    return Exchange(
        free=np.array(free),
        paid=np.array([names.index(f"ink/strength.{kind}") for kind in paid]),
        worth=worth,
        unit=np.array([_unit(f"optics.scale.{kind}") for kind in paid]),
    )


def _looked_at(plan: Plan) -> tuple[str, ...]:
    seen = [
        str(item.entry.of).removeprefix("trial:")
        for item in plan.evidence
        if isinstance(item.entry, Reading)
        and item.entry.what in _LOOKED_AT
        and str(item.entry.of).startswith("trial:")
    ]
    return tuple(dict.fromkeys(seen))


def _unit(name: str) -> float:
    """Return what one unit of a lognormal row's unknown adds to its natural logarithm."""
    low, high = row(name).at(np.array([0.0, 1.0]))
    return float(np.log(high / low))
