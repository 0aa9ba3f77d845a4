"""What every reading is to the sampler."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkhorn.replay.draws import Draws

Array = NDArray[np.float64]


class Evidence(Protocol):
    """One reading as a likelihood of its prediction ``mu`` (m, N)."""

    @property
    def number(self) -> int:
        """Number of the entry."""
        ...

    @property
    def doubt(self) -> str | None:
        """Return which of the model's own errors goes with it, if any."""
        ...

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0) -> Array:
        """Return the log-likelihood for each draw, (N,), at one size of the model's own error."""
        ...

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return the information about the prediction at ``mu`` (m, 1), (m, m)."""
        ...

    def surprise(self, mu: Array) -> float:
        """Return how many standard deviations the reading lies off the predictions ``mu`` (m, N)."""
        ...


def curvature(low: float, middle: float, high: float, step: float) -> Array:
    """Return minus the second difference of a log-density, never negative, (1, 1)."""
    return np.array([[max(-(low - 2 * middle + high) / step**2, 0.0)]])
