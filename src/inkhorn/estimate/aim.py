"""What a sampler needs to know of what it samples, and how hard it is to work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Exchange:
    """Unknowns that make up for one another, exactly or nearly, in all that was read.

    A pot twice as strong in a colour half as strong leaves the same stroke: along
    such a trade the posterior is a long, thin, bent ridge, and moves that know
    nothing of it creep. A move that changes ``free`` unknowns as it likes and
    lets the ``paid`` ones make up for it runs along the ridge.

    Parameters
    ----------
    free : ndarray of int
        Rows of the unknowns that are moved.
    paid : ndarray of int, shape (G,)
        Rows of those that make up for it; none of them is free.
    worth : callable
        Natural logarithm of what a paid unknown is multiplied by, (G, N), for
        columns (D, N); must not hang on the paid unknowns.
    unit : ndarray, shape (G,)
        What one unit of each paid unknown adds to that logarithm.
    """

    free: NDArray[np.intp]
    paid: NDArray[np.intp]
    worth: Callable[[Array], Array]
    unit: Array


class Target(Protocol):
    """What is sampled: a likelihood over unknowns whose prior is standard normal."""

    def log_likelihood(self, z: Array) -> Array:
        """Return the log-likelihood of each column of ``z`` (D, N), (N,)."""
        ...

    def log_likelihood_above(self, z: Array, bar: Array) -> Array:
        """Return the same, (N,), or minus infinity for columns that are sure not to reach ``bar`` (N,)."""
        ...

    def slopes(self, z: Array) -> tuple[Array, Array]:
        """Return the gradient of the log-likelihood (D, K) and the readings' information (K, D, D) at columns of ``z``."""
        ...

    @property
    def exchange(self) -> Exchange | None:
        """Return which unknowns make up for one another, where that is known."""
        ...


@attrs.frozen(kw_only=True)
class Settings:
    """How hard to sample; numerical choices, not beliefs about ink."""

    # numbers-in-code: settings of the sampler; tests on known targets hold for them
    keep: float = 0.5
    accept: float = 0.3
    forget: float = 0.1
    max_stages: int = 120
    scouts: int = 256
    scout_pieces: int = 8
    scout_moves: int = 6
    pieces: int = 48
    moves: int = 6
    last_moves: int = 24
    widen: float = 1.1
    prior_share: float = 0.05
    informed: float = 0.05
    renew_keep: float = 0.25
    renew_pieces: int = 16
    renew_moves: int = 5
    renew_stages: int = 4
    renew_stride: float = 0.35
    same: float = 1e-9
