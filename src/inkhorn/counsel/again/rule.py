"""How a recipe's steps are brought to their ends, what they should show, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.again.checkpoints import READINGS
from inkhorn.handbook.load import value
from inkhorn.quantities import UNITS, Quantity
from inkhorn.replay.world import VesselState

Array = NDArray[np.float64]
# numbers-in-code: halvings of a bracket of amounts, to a thousandth of it
_ROUNDS = 12


@attrs.frozen(kw_only=True)
class Rule:
    """How each step of a recipe is brought to its end.

    Parameters
    ----------
    strength : str
        Reading at which the strained liquor is strong enough: a key of `READINGS`.
    iron : str
        ``weight`` (so many grams), ``volume`` (so many for each ml), ``dry_residue``
        (so many for each gram that the liquor would leave on drying), ``strip``.
    gum : str
        ``weight``, ``volume`` or ``discharge``.
    trim : str
        Reading to which the finished ink is boiled on or thinned; empty for none.
    more_strength, more_iron : float
        Factors on what the first ink had.
    """

    strength: str = "volume"
    iron: str = "weight"
    gum: str = "weight"
    trim: str = ""
    more_strength: float = 1.0
    more_iron: float = 1.0

    @property
    def readings(self) -> tuple[str, ...]:
        """Return every reading that it takes, in order."""
        rules = (self.strength, self.iron, self.gum, self.trim)
        return tuple(r for r in rules if r in READINGS)


@attrs.frozen(kw_only=True, eq=False)
class Marks:
    """What the checkpoints should show: one figure each, or (N,) where a kept sample is looked at beside it.

    ``residue`` and ``volume`` are those of the strained and boiled liquor of the
    first ink, g/L and ml, to which doses are in proportion.
    """

    strength: Mapping[str, float]
    strip: Array | float
    discharge: Array | float
    residue: float
    volume: float


@attrs.frozen(kw_only=True, eq=False)
class Made:
    """What came of a recipe on each draw, (N,); ``poured`` is the share of the liquors made beside."""

    state: VesselState
    boiled: VesselState
    strained: Array
    doses: Mapping[str, Array]
    trimmed: Array
    distance: Array
    viscosity: Array
    iron_ratio: Array
    volume: Array
    flow_ok: NDArray[np.bool_]
    permanence_ok: NDArray[np.bool_]
    poured: Array | float = 1.0

    @property
    def matches(self) -> NDArray[np.bool_]:
        """Return on which draws the ink matches, flows, and keeps the iron limit."""
        return (self.distance <= value("counsel.match")) & self.flow_ok & self.permanence_ok


def stronger(reading: str, place: float, factor: float) -> float:
    """Return a place on a reading's scale for a liquor so many times as strong."""
    if reading == "specific_gravity":
        return 1.0 + (place - 1.0) * factor
    return float(place + np.log(factor)) if reading == "dry_residue" else place * factor


def halved(shown: Callable[[Array], Array], low: Array, high: Array, *, falls: bool) -> Array:
    """Return where a monotone function of an amount crosses nothing, by halving on the logarithm, (N,).

    Where it does not cross, the end of the bracket that comes nearest.
    """
    low, high = np.log(low), np.log(high)
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        over = shown(np.exp(middle)) > 0
        up = over if falls else ~over
        low, high = np.where(up, middle, low), np.where(up, high, middle)
    return np.asarray(np.exp(0.5 * (low + high)))


def exact(amount: float, dimension: str) -> Quantity:
    """Return an amount without any doubt."""
    return Quantity(
        text="", value=float(amount), unit=UNITS[dimension], sd=0.0, dimension=dimension, how="exact"
    )


def shared(entry: Any, share: float) -> Any:
    """Return a step of a liquor made beside with its amounts times a share."""
    changed = {}
    for key in ("amount", "liquid_amount", "to", "up_to"):
        said = getattr(entry, key, None)
        if isinstance(said, Quantity) and said.dimension in ("mass", "volume"):
            changed[key] = attrs.evolve(said, value=said.value * share, sd=said.sd * share)
    return attrs.evolve(entry, **changed) if changed else entry
