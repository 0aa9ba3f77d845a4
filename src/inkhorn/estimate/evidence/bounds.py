"""A reading that says only "more than" or "less than": the chance of it, by the tail of Student's t."""

from __future__ import annotations

import attrs
import numpy as np
from scipy.special import stdtr

from inkhorn.estimate.evidence.base import Array, curvature
from inkhorn.estimate.evidence.numbers import scale_of
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws


@attrs.frozen(kw_only=True, eq=False)
class Bound:
    """A limit that the thing read lies above (``side`` 1) or below (-1).

    Parameters
    ----------
    limit : float
        On the scale of the prediction.
    sd : float
        How unsurely it is told on which side of the limit the thing lies.
    """

    number: int
    limit: float
    sd: float
    side: int

    @property
    def doubt(self) -> None:
        """A limit carries its own error."""
        return

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0) -> Array:
        """Return the log-probability that it lies on the side that was said, (N,)."""
        del draws, doubt
        inside = self.side * (mu[0] - self.limit) / np.sqrt(scale_of(self.sd**2))
        return np.asarray(np.log(stdtr(value("misfit.tail"), inside)))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return minus the second difference of the log-probability, never negative, (1, 1)."""
        h = self.sd / 2
        low, middle, high = (float(self.log_density(mu[:, :1] + d, draws)[0]) for d in (-h, 0.0, h))
        return curvature(low, middle, high, h)

    def surprise(self, mu: Array) -> float:
        """Return how far beyond the limit, on the wrong side, the predictions lie, in their spread."""
        centre, spread = float(np.nanmedian(mu)), float(np.nanstd(mu))
        return max(self.side * (self.limit - centre), 0.0) / float(np.hypot(self.sd, spread))
