"""How courses do, and what many draws of it come to in one number.

What counts at the bench is how many trials it takes until a stroke matches, so
a course is worth the chance that it does, not how far off it is on the average:
with a page and a pot that are each known to a few steps of colour, the mean
distance has a floor that no course gets under, and every course looks like
leaving things. The chance of a match alone would say nothing from afar. Between
the two stands the certainty equivalent of an exponential utility [Pratt1964]_,
here of one who hopes: the mean of ``exp(-x / s)`` over the draws, x being what
is wanting to a match, told as that x which would be as good were it sure.

References
----------
.. [Pratt1964] J. W. Pratt, Risk aversion in the small and in the large, Econometrica 32 (1964) 122-136.
"""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.handbook.load import value

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Judged:
    """Courses as they do on each draw.

    Attributes
    ----------
    wanting : ndarray (K, M)
        What is wanting to a match, in units of CIEDE2000: 0 is one.
    cost : ndarray (K, M)
        What it costs beside, in the same unit: harm, trouble, waste. It counts by its mean.
    """

    wanting: Array
    cost: Array

    @property
    def whole(self) -> Array:
        """Return both together, (K, M): what somebody who knew the draw would go by."""
        return np.asarray(self.wanting + self.cost)

    @property
    def nearness(self) -> Array:
        """Return ``exp(-x / s)``, (K, M): 1 where it matches, 0 far off."""
        return near(self.wanting)

    def expected(self, weights: Array | None = None) -> Array:
        """Return what each course comes to, (K,), or, for each row of ``weights`` (R, M), (K, R)."""
        if weights is None:
            return np.asarray(sure(self.nearness.mean(axis=-1)) + self.cost.mean(axis=-1))
        return np.asarray(sure(self.nearness @ weights.T) + self.cost @ weights.T)

    def without_own(self) -> Array:
        """Return what each course comes to on all draws but one, (K, M): column m leaves out draw m."""
        others = max(self.wanting.shape[1] - 1, 1)

        def rest(x: Array) -> Array:
            return np.asarray((x.sum(axis=1, keepdims=True) - x) / others)

        return np.asarray(sure(rest(self.nearness)) + rest(self.cost))

    def picked(self, which: NDArray[np.intp]) -> float:
        """Return what it comes to if on draw m course ``which[m]`` is taken."""
        m = np.arange(self.wanting.shape[1])
        return float(sure(near(self.wanting[which, m]).mean()) + self.cost[which, m].mean())

    def at(self, where: Any) -> Judged:
        """Return some of the courses, or of the draws: whatever an index of (K, M) picks."""
        return Judged(wanting=self.wanting[where], cost=self.cost[where])

    def joined(self, other: Judged) -> Judged:
        """Return the courses of both, in that order."""
        return Judged(
            wanting=np.concatenate([self.wanting, other.wanting]),
            cost=np.concatenate([self.cost, other.cost]),
        )


def scale() -> float:
    """Return s, CIEDE2000: what comes nearer to a match by it is worth e times as much."""
    return float(value("counsel.hope"))


def near(wanting: Array) -> Array:
    """Return ``exp(-x / s)``."""
    return np.asarray(np.exp(-wanting / scale()))


def sure(nearness: Array | np.float64) -> Array:
    """Return what, were it sure to be wanting, would be as near: ``-s ln`` of a mean nearness."""
    return np.asarray(-scale() * np.log(np.maximum(nearness, np.finfo(float).tiny)))


def plainly(loss: Array) -> Judged:
    """Return losses (K, M) that count by their mean alone."""
    return Judged(wanting=np.zeros_like(loss), cost=loss)
