"""What is still least known: figures whose band is widest against what a decision needs, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from inkhorn.estimate import weighing
from inkhorn.estimate.evidence.base import Array
from inkhorn.estimate.figures import figure
from inkhorn.estimate.known import Lacking
from inkhorn.handbook.load import group, value
from inkhorn.replay.liquor import NOTHING

#: Figures whose band is measured on the natural logarithm.
_AMOUNTS = frozenset({"volume", "viscosity", "gum"})
_STRENGTHS = frozenset({"tannin_fraction", "iron_fraction", "gum_soluble"})
# numbers-in-code: the 90 % band
_BAND = (5, 95)


def least_known(
    now: Mapping[tuple[str, str], tuple[Array, str]],
    before: Mapping[tuple[str, str], tuple[Array, str]],
    places: Mapping[str, Array],
) -> tuple[Lacking, ...]:
    """Return the figures that are not known well enough, the least known first.

    Parameters
    ----------
    now, before : mapping
        Draws of each figure with its unit, by whose and which: of the
        posterior and of the prior.
    places : mapping
        Posterior draws of each unknown on its own scale, (N,).
    """
    names = [name for name, place in places.items() if np.ptp(place) > 0]
    scores = weighing.normal_scores(np.stack([places[name] for name in names])) if names else np.zeros((0, 0))
    out = []
    for (of, name), (array, unit) in now.items():
        needed = close_enough(name)
        if needed is None or not np.isfinite(array).all() or np.ptp(array) <= 0:
            continue
        width = _width(name, array)
        if width <= needed:
            continue
        first = before.get((of, name))
        was = _width(name, first[0]) if first is not None and np.isfinite(first[0]).all() else width
        because, share = _cause(array, names, scores)
        out.append(
            Lacking(
                of=of,
                figure=name,
                times=width / needed,
                left=min((width / was) ** 2 if was > 0 else 1.0, 1.0),
                because=because,
                share=share,
                value=figure(array, unit),
            )
        )
    return tuple(sorted(out, key=lambda item: -item.times))


def close_enough(name: str) -> float | None:
    """Return the width of the band at which a figure is known well enough; None where nothing hangs on it."""
    key = "strength" if name in _STRENGTHS else name
    return value(f"knowing.close.{key}") if key in group("knowing.close") else None


def _width(name: str, array: Array) -> float:
    scale = array
    if name in _AMOUNTS or name in _STRENGTHS:
        scale = np.log(np.maximum(array, NOTHING))
    low, high = np.percentile(scale, _BAND)
    return float(high - low)


def _cause(array: Array, names: Sequence[str], scores: Array) -> tuple[str, float]:
    """Return the unknown whose rank goes most with a figure's, and the share of the spread that goes with it."""
    if not names:
        return "", 0.0
    mine = weighing.normal_scores(array)
    shares = (scores @ mine) ** 2 / (np.sum(scores**2, axis=1) * np.sum(mine**2))
    top = int(np.argmax(shares))
    share = float(shares[top])
    return (names[top] if share >= value("knowing.explains") else ""), share
