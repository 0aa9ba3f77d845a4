"""Words in order: the chance of each is the share of a normal that lies between its two cuts (ordered probit).

With a small chance (`readings.word_slip`) a word was said with nothing behind
it; that chance is spread evenly over the scale.
"""

from __future__ import annotations

import attrs
import numpy as np
from scipy.special import ndtr

from inkhorn.estimate.evidence.base import Array, curvature
from inkhorn.handbook.load import value
from inkhorn.replay import people
from inkhorn.replay.draws import Draws


@attrs.frozen(kw_only=True, eq=False)
class Ordered:
    """One of several choices in order, told of a number.

    Parameters
    ----------
    place : int
        Which was said, from 0.
    cuts : tuple of float
        The boundaries between them, on the scale of the prediction.
    blur : float
        How unsurely it is judged, same unit.
    """

    number: int
    place: int
    cuts: tuple[float, ...]
    blur: float

    @property
    def doubt(self) -> None:
        """A word carries its own blur; the model's errors are small beside it."""
        return

    @property
    def between(self) -> tuple[float, float]:
        """Return the two cuts that the choice lies between."""
        edges = (-np.inf, *self.cuts, np.inf)
        return edges[self.place], edges[self.place + 1]

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0) -> Array:
        """Return the log-probability of what was said, (N,)."""
        del draws, doubt
        slip, (low, high) = value("readings.word_slip"), self.between
        inside = ndtr((high - mu[0]) / self.blur) - ndtr((low - mu[0]) / self.blur)
        return np.asarray(np.log((1.0 - slip) * inside + slip / (len(self.cuts) + 1)))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return minus the second difference of the log-probability, never negative, (1, 1)."""
        h = self.blur / 2
        low, middle, high = (float(self.log_density(mu[:, :1] + d, draws)[0]) for d in (-h, 0.0, h))
        return curvature(low, middle, high, h)

    def surprise(self, mu: Array) -> float:
        """Return how far outside what was said the predictions lie, in their spread."""
        low, high = self.between
        centre, spread = float(np.nanmedian(mu)), float(np.nanstd(mu))
        off = max(low - centre, centre - high, 0.0)
        return off / float(np.hypot(self.blur, spread))


def word(*, number: int, scale: str, said: str) -> Ordered:
    """Return a word of an ordered scale as evidence; whose it is, the prediction knows."""
    return Ordered(
        number=number,
        place=people.words(scale).index(said),
        cuts=people.cuts(scale),
        blur=value(f"words.{scale}.blur"),
    )


_THAN = {"paler": 0, "thinner": 0, "same": 1, "darker": 2, "thicker": 2}


def comparison(*, number: int, said: str) -> Ordered:
    """Return one trial against another as evidence: less, the same or more than a just noticeable difference."""
    of = "_body" if said in ("thinner", "thicker") else ""
    apart = value(f"words.than.apart{of}")
    return Ordered(number=number, place=_THAN[said], cuts=(-apart, apart), blur=value(f"words.than.blur{of}"))
