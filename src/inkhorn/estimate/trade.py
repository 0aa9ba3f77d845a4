"""What makes up for one another in every stroke: what it holds, how strongly that absorbs, and the factor of a channel."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs
import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.estimate.aim import Array, Exchange, Trade
from inkhorn.handbook.load import row
from inkhorn.replay import strokes
from inkhorn.replay.draws import Draws, Unknown
from inkhorn.replay.fold import Plan, Played

_LOOKED_AT = frozenset({"optical_density", "photo", "lab", "depth", "hue"})
_BINDING = ("gallate", "catecholate")
# numbers-in-code: bound iron, mol/cm2, and a density that hardly show. They keep the way straight where a film runs out
# of iron or of tannin, and change nothing of what is sampled.
_HARDLY, _FAINT = 1e-8, 1e-4
#: Replays columns (D, N) of which the paid unknowns do not count, and gives their draws.
Replay = Callable[[Array], tuple[Played, Draws]]


def exchange_of(plan: Plan, unknowns: Mapping[str, Unknown], replay: Replay) -> Exchange | None:
    """Return what makes up for one another in the strokes; None where no stroke was looked at.

    The light that a stroke takes depends on the iron that its film binds only
    through the product with the absorptivity of the complex: the two
    absorptivities pay for the iron bound. And what all that makes of a
    channel is known only but for a factor of that channel (misfit of hue),
    which pays for the rest. Both against the geometric mean over the strokes
    that were looked at.
    """
    trials, names = _looked_at(plan), list(unknowns)
    films = _Films(trials=trials, replay=replay)
    binding = tuple(kind for kind in _BINDING if f"ink/strength.{kind}" in unknowns)
    if not (trials and binding):
        return None
    strength = Trade(
        paid=np.array([names.index(f"ink/strength.{kind}") for kind in binding]),
        worth=lambda z: films.bound(z, binding),
        unit=np.array([_unit(f"optics.scale.{kind}") for kind in binding]),
    )
    hues = [f"misfit/hue.{c}" for c in strokes.CHANNELS]
    if not all(hue in unknowns for hue in hues):
        return Exchange(steps=(strength,))
    hue = Trade(
        paid=np.array([names.index(hue) for hue in hues]),
        worth=films.dark,
        unit=np.array([_unit(f"misfit.hue.{c}") for c in strokes.CHANNELS]),
    )
    return Exchange(steps=(strength, hue))


@attrs.define(kw_only=True, eq=False)
class _Films:
    """What lies in the strokes that were looked at, the last replay's kept: one trade after another asks for it."""

    trials: tuple[str, ...]
    replay: Replay
    _last: tuple[Array, list[strokes.Areal], Draws] | None = None

    def laid(self, z: Array) -> tuple[list[strokes.Areal], Draws]:
        """Return the dry films of columns (D, N), and their draws."""
        if self._last is None or self._last[0] is not z:
            played, draws = self.replay(z)
            made = played.world.trials
            there = [made[t] for t in self.trials if t in made and not made[t].withheld]
            dry = [strokes.areal(t.liquor, t.film, 1.0, draws, t.chalk) for t in there]
            self._last = (z, dry, draws)
        return self._last[1:]

    def bound(self, z: Array, binding: tuple[str, ...]) -> Array:
        """Return the logarithm of the iron bound on each class, (G, N)."""
        dry, draws = self.laid(z)
        logs = [np.log([getattr(film, kind) + _HARDLY for kind in binding]) for film in dry]
        return _mean(logs, (len(binding), draws.n))

    def dark(self, z: Array) -> Array:
        """Return the logarithm of each channel's density before its own factor, (3, N)."""
        dry, draws = self.laid(z)
        logs = [np.log(strokes.thin_density(film, draws) + _FAINT) for film in dry]
        return _mean(logs, (len(strokes.CHANNELS), draws.n))


def _mean(parts: list[Array], shape: tuple[int, int]) -> Array:
    return np.asarray(np.mean(parts, axis=0)) if parts else np.zeros(shape)


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
