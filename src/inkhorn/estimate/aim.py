"""What a sampler needs to know of what it samples, and how hard it is to work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_STEP = 1e-4


@attrs.frozen(kw_only=True, eq=False)
class Trade:
    """Unknowns that make up for others.

    Parameters
    ----------
    paid : ndarray of int, shape (G,)
        Rows of the unknowns that make up for others.
    worth : callable
        Natural logarithm of what a paid unknown is multiplied by, (G, N), for
        columns (D, N); must not hang on the paid unknowns.
    unit : ndarray, shape (G,)
        What one unit of each paid unknown adds to that logarithm.
    """

    paid: NDArray[np.intp]
    worth: Callable[[Array], Array]
    unit: Array


@attrs.frozen(kw_only=True, eq=False)
class Exchange:
    """Unknowns that make up for others, exactly or nearly, in all that was read.

    A pot twice as strong in a colour half as strong leaves the same stroke: along
    such a trade the posterior is a long, thin, bent ridge. With the product of the
    two in the place of the colour the ridge is straight, and what was read holds
    the product alone: each ``paid`` unknown is moved by what all others make of
    it. Such a shift leaves volumes as they are, so that a density is the same in
    the straight unknowns as in the bent ones.

    Parameters
    ----------
    steps : sequence of Trade
        Each trade's worth hangs on none of what it pays with, nor on what later ones do.
    """

    steps: tuple[Trade, ...]

    @property
    def paid(self) -> NDArray[np.intp]:
        """Return the rows of all unknowns that make up for others, (G,)."""
        return np.concatenate([step.paid for step in self.steps])

    def worth(self, z: Array) -> Array:
        """Return what every paid unknown is shifted by, (G, N), in units of its own."""
        return np.concatenate([step.worth(z) / step.unit[:, None] for step in self.steps])

    def straight(self, z: Array) -> Array:
        """Return columns (D, N) with the product in the place of each paid unknown."""
        out = z.copy()
        out[self.paid] += self.worth(z)
        return out

    def bent(self, u: Array) -> Array:
        """Return the columns (D, N) that are `straight` at ``u``."""
        out = u.copy()
        # Nothing hangs on what stands there while their worth is reckoned; the prior's middle is safe to replay.
        out[self.paid] = 0.0
        for step in self.steps:
            out[step.paid] = u[step.paid] - step.worth(out) / step.unit[:, None]
        return out

    def slopes(self, z: Array) -> Array:
        """Return how the straight unknowns change with the bent ones, beside one for one, at columns (D, K), (K, G, D)."""
        return along(self.worth(stepped(z)), z.shape[1])


def stepped(z: Array) -> Array:
    """Return the columns (D, K (D + 1)) by which slopes at ``z`` (D, K) are told: each place, and a step along each unknown."""
    d, k = z.shape
    steps = np.concatenate([np.zeros((d, 1)), _STEP * np.eye(d)], axis=1)
    return np.asarray((z[:, :, None] + steps[:, None, :]).reshape(d, k * (d + 1)))


def along(told: Array, k: int) -> Array:
    """Return the slopes (K, M, D) of what is told (M, K (D + 1)) of the columns that `stepped` gives."""
    each = told.reshape(len(told), k, -1)
    return np.moveaxis((each[:, :, 1:] - each[:, :, :1]) / _STEP, 0, 1)


@attrs.frozen(kw_only=True, eq=False)
class Slopes:
    """What a target tells about K places.

    Parameters
    ----------
    gradient : ndarray, shape (D, K)
        Of the log-likelihood.
    information : ndarray, shape (K, D, D)
        Of the readings.
    shift : ndarray, shape (K, G, D), optional
        How the target's exchange makes the unknowns straight there (`Exchange.slopes`).
    """

    gradient: Array
    information: Array
    shift: Array | None = None


class Target(Protocol):
    """What is sampled: a likelihood over unknowns whose prior is standard normal."""

    def log_likelihood(self, z: Array) -> Array:
        """Return the log-likelihood of each column of ``z`` (D, N), (N,)."""
        ...

    def log_likelihood_above(self, z: Array, bar: Array) -> Array:
        """Return the same, (N,), or minus infinity for columns that are sure not to reach ``bar`` (N,)."""
        ...

    def slopes(self, z: Array) -> Slopes:
        """Return the slopes at columns of ``z`` (D, K)."""
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
    anew: float = 0.5
    forget: float = 0.1
    max_stages: int = 120
    scouts: int = 256
    gain: float = 2.0
    scout_pieces: int = 8
    scout_moves: int = 6
    pieces: int = 16
    whole: float = 0.5
    parts: int = 8
    moves: int = 4
    last_moves: int = 14
    most_moves: int = 36
    enough: float = 0.15
    widen: float = 1.1
    prior_share: float = 0.001
    informed: float = 0.005
    own: float = 0.4
    renew_still: float = 0.75
    renew_keep: float = 0.5
    renew_seen: float = 2.0
    renew_pieces: int = 16
    renew_moves: int = 5
    renew_stride: float = 0.35
    same: float = 1e-9
