"""What makes up for one another in every stroke: how much the iron binds, and how strongly that absorbs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.estimate.aim import Array, Exchange
from inkhorn.handbook.load import row
from inkhorn.replay import strokes
from inkhorn.replay.draws import Draws, Unknown
from inkhorn.replay.fold import Plan, Played

_LOOKED_AT = frozenset({"optical_density", "photo", "lab", "depth", "hue"})
_PAID = ("gallate", "catecholate")
# numbers-in-code: bound iron that hardly shows, mol/cm2. It keeps the way straight where a film runs out of iron or of
# tannin, and changes nothing of what is sampled.
_HARDLY = 1e-8
#: Replays columns (D, N) of which the paid unknowns do not count, and gives their draws.
Replay = Callable[[Array], tuple[Played, Draws]]


def exchange_of(plan: Plan, unknowns: Mapping[str, Unknown], replay: Replay) -> Exchange | None:
    """Return the trade of bound iron against the strength of its colour; None where no stroke was looked at.

    The light that a stroke takes depends on the iron that its film binds only
    through the product with the absorptivity of the complex. What is paid with
    are the two absorptivities, against the iron bound in the strokes that were
    looked at (their geometric mean).
    """
    trials = _looked_at(plan)
    names = list(unknowns)
    paid = [kind for kind in _PAID if f"ink/strength.{kind}" in unknowns]
    if not (trials and paid):
        return None

    def worth(z: Array) -> Array:
        played, draws = replay(z)
        made = played.world.trials
        total = np.zeros((len(paid), draws.n))
        there = [made[t] for t in trials if t in made and not made[t].withheld]
        for trial in there:
            film = strokes.areal(trial.liquor, trial.film, 1.0, draws, trial.chalk)
            total += np.log([getattr(film, kind) + _HARDLY for kind in paid]) / len(there)
        return total

    return Exchange(
        paid=np.array([names.index(f"ink/strength.{kind}") for kind in paid]),
        worth=worth,
        unit=np.array([_unit(f"optics.scale.{kind}") for kind in paid]),
    )


def _looked_at(plan: Plan) -> tuple[str, ...]:
    seen = [
        item.entry.subject[1]
        for item in plan.evidence
        if isinstance(item.entry, Reading)
        and item.entry.what in _LOOKED_AT
        and item.entry.subject[0] == "trial"
    ]
    return tuple(dict.fromkeys(seen))


def _unit(name: str) -> float:
    """Return what one unit of a lognormal row's unknown adds to its natural logarithm."""
    low, high = row(name).at(np.array([0.0, 1.0]))
    return float(np.log(high / low))
