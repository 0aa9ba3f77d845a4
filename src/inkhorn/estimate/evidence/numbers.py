"""A number, or several read together: Student's t about the prediction."""

from __future__ import annotations

import attrs
import numpy as np
from scipy.special import gammaln

from inkhorn.estimate.evidence.base import Array
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws


def scale_of(variance: Array | float) -> Array:
    """Return the squared scale at which Student's t has a variance, of any shape.

    An error is stated as a standard deviation; taken for the scale of the t it would count for 1.3 times itself.
    """
    nu = value("misfit.tail")
    return np.asarray(variance * (nu - 2.0) / nu)


@attrs.frozen(kw_only=True, eq=False)
class Number:
    """A number, or several, read with an error.

    Parameters
    ----------
    observed : ndarray, shape (m,)
    axes : ndarray, shape (m, m)
        Columns: the principal axes of the reading's covariance.
    variance : ndarray, shape (m,)
        Variance along each.
    doubt : str or None
        Which of the model's own errors goes with it.
    cap : float
        Where a component was read above this, a prediction above it is as
        good as any: the reading says "at least so much" (inf for never).
    """

    number: int
    observed: Array
    axes: Array
    variance: Array
    doubt: str | None = None
    cap: float = np.inf

    def off(self, mu: Array) -> Array:
        """Return how far the prediction (m, N) falls short of the reading, (m, N); nothing where both pass the cap."""
        seen = np.minimum(self.observed, self.cap)[:, None]
        # A component read below the cap is compared as it is, however high it was foreseen.
        foreseen = np.where(self.observed[:, None] > self.cap, np.minimum(mu, self.cap), mu)
        return np.asarray(seen - foreseen)

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0) -> Array:
        """Return the multivariate-t log-density, (N,); the model's own error ``doubt`` adds in squares."""
        del draws
        nu, m = value("misfit.tail"), len(self.observed)
        variance = scale_of(self.variance + doubt**2)[:, None]
        distance = np.sum((self.axes.T @ self.off(mu)) ** 2 / variance, axis=0)
        constant = gammaln((nu + m) / 2) - gammaln(nu / 2) - m * np.log(nu * np.pi) / 2
        return np.asarray(constant - np.sum(np.log(variance)) / 2 - (nu + m) / 2 * np.log1p(distance / nu))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return the information of a multivariate t, (m, m), at the usual doubt.

        Fisher's about the centre; far out, where the tail hardly pulls, only
        the weight that the reading still has there; none of a component that
        passes the cap both ways.
        """
        del draws
        nu, m = value("misfit.tail"), len(self.observed)
        own = value(f"misfit.{self.doubt}") if self.doubt else 0.0
        variance = scale_of(self.variance + own**2)
        distance = np.sum((self.axes.T @ self.off(mu[:, :1])[:, 0]) ** 2 / variance)
        factor = min((nu + m) / (nu + m + 2), (nu + m) / (nu + distance))
        free = np.where((self.observed > self.cap) & (mu[:, 0] > self.cap), 0.0, 1.0)
        return np.asarray(factor * free[:, None] * ((self.axes / variance) @ self.axes.T) * free)

    def surprise(self, mu: Array) -> float:
        """Return the largest standardised distance of the reading from its predictions."""
        spread = np.nanvar(self.axes.T @ mu, axis=1)
        off = self.axes.T @ self.off(np.nanmedian(mu, axis=1)[:, None])[:, 0]
        return float(np.max(np.abs(off) / np.sqrt(self.variance + spread)))


def scattered(
    *, number: int, observed: Array, covariance: Array, doubt: str | None = None, cap: float = np.inf
) -> Number:
    """Return a reading of several components with a covariance, (m, m)."""
    variance, axes = np.linalg.eigh(covariance)
    return Number(
        number=number,
        observed=observed,
        axes=axes,
        variance=np.maximum(variance, 1e-8),
        doubt=doubt,
        cap=cap,
    )
