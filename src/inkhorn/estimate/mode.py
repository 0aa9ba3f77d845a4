"""The most probable point of the whitened unknowns, by damped Gauss-Newton steps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# numbers-in-code: dampings and lengths of a trial step, tried side by side
_DAMPING = np.array([0.0, 0.3, 3.0, 30.0, 300.0])
_FARTHEST = 6.0
_LENGTHS = np.array([1.0, 0.5, 0.2])


class Target(Protocol):
    """What is sampled: a likelihood over unknowns whose prior is standard normal."""

    def log_likelihood(self, z: Array) -> Array:
        """Return the log-likelihood of each column of ``z`` (D, N), (N,)."""
        ...

    def log_likelihood_above(self, z: Array, bar: Array) -> Array:
        """Return the same, (N,), or minus infinity for columns that are sure not to reach ``bar`` (N,)."""
        ...

    def slopes(self, z: Array) -> tuple[Array, Array]:
        """Return the gradient of the log-likelihood (D, K) and its mean information (D, D) at columns of ``z``."""
        ...

    def light(self) -> Target:
        """Return a smoother target with its summit near this one's."""
        ...


@attrs.frozen(kw_only=True, eq=False)
class Mode:
    """A local optimum: where, its log-posterior (but for a constant), and the information there."""

    z: Array
    log_posterior: float
    information: Array


# numbers-in-code: a limit of rounds, and a gain in log-density that no longer matters
def find_mode(
    target: Target, start: Array, *, rounds: int, close: float, known: Callable[[Array], bool] | None = None
) -> Mode:
    """Climb from ``start`` (D,) to a local optimum of the log-posterior.

    The way up is found with light tails first, in which no reading is so far
    off that it no longer pulls; the summit is then that of the target itself.
    The climb is given up once ``known`` says that it is on a hill that was climbed before.
    """
    rough = climb(target.light(), start, rounds=rounds // 2, close=1.0, known=known)
    return climb(target, rough.z, rounds=rounds, close=close, known=known)


def climb(
    target: Target, start: Array, *, rounds: int, close: float, known: Callable[[Array], bool] | None = None
) -> Mode:
    """Climb by damped Gauss-Newton steps.

    Each round takes one gradient and one Gauss-Newton matrix, tries fifteen
    damped and shortened steps in one replay, and keeps the best; it ends when
    the gain is below ``close``, or ``known`` knows the place.
    """
    z = start
    best = float(_log_posterior(target, z[:, None])[0])
    information = np.zeros((len(z), len(z)))
    for _ in range(rounds):
        if known is not None and known(z):
            break
        gradient, information = target.slopes(z[:, None])
        uphill = gradient[:, 0] - z
        values, vectors = np.linalg.eigh(information)
        along = vectors.T @ uphill
        steps = vectors @ (along[:, None] / (1.0 + np.maximum(values, 0.0)[:, None] + _DAMPING))
        tries = z[:, None] + (steps[:, :, None] * _LENGTHS).reshape(len(z), -1)
        # Farther out than this no draw ever lies, and the physics may not hold.
        tries = np.clip(tries, -_FARTHEST, _FARTHEST)
        heights = _log_posterior(target, tries)
        top = int(np.argmax(heights))
        gain = float(heights[top]) - best
        if gain > 0:
            z, best = tries[:, top], float(heights[top])
        if gain < close:
            break
    return Mode(z=z, log_posterior=best, information=information)


def _log_posterior(target: Target, z: Array) -> Array:
    height = target.log_likelihood(z) - 0.5 * np.sum(z**2, axis=0)
    return np.where(np.isfinite(height), height, -np.inf)
