"""How likely each reading is, given what it should have been.

Numbers: Student's t about the prediction, its scale the reading's own error
and the model's doubt of itself added in squares. Words: ordered probit between
the cuts of the scale, each person's cuts moved as one by an unknown of theirs,
with a small chance that the word meant nothing.
"""

from __future__ import annotations

from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, ndtr

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import group, row, value
from inkhorn.quantities import Quantity
from inkhorn.replay import predict
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING

Array = NDArray[np.float64]
_LOGARITHMIC = ("mass", "volume", "dry_residue", "viscosity", "total_iron", "total_phenols", "gum")


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

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0, tail: float = 0.0) -> Array:
        """Return the log-likelihood for each draw, (N,), at one size of the model's own error.

        ``tail`` above zero stands in for the handbook's degrees of freedom: many make light tails.
        """
        ...

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return the information about the prediction at ``mu`` (m, 1), (m, m)."""
        ...

    def surprise(self, mu: Array) -> float:
        """Return how many standard deviations the reading lies off the predictions ``mu`` (m, N)."""
        ...


@attrs.frozen(kw_only=True, eq=False)
class Number:
    """A number, or three, read with an error.

    Parameters
    ----------
    observed : ndarray, shape (m,)
    axes : ndarray, shape (m, m)
        Columns: the principal axes of the reading's covariance.
    variance : ndarray, shape (m,)
        Variance along each.
    doubt : str or None
        Which of the model's own errors goes with it.
    """

    number: int
    observed: Array
    axes: Array
    variance: Array
    doubt: str | None

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0, tail: float = 0.0) -> Array:
        """Return the multivariate-t log-density, (N,); the model's own error ``doubt`` adds in squares."""
        del draws
        nu, m = tail or value("misfit.tail"), len(self.observed)
        variance = (self.variance + doubt**2)[:, None]
        off = self.axes.T @ (self.observed[:, None] - mu)
        distance = np.sum(off**2 / variance, axis=0)
        constant = gammaln((nu + m) / 2) - gammaln(nu / 2) - m * np.log(nu * np.pi) / 2
        return np.asarray(constant - np.sum(np.log(variance)) / 2 - (nu + m) / 2 * np.log1p(distance / nu))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return the information of a multivariate t, (m, m), at the usual doubt.

        Fisher's about the centre; far out, where the tail hardly pulls, only
        the weight that the reading still has there.
        """
        del draws
        nu, m = value("misfit.tail"), len(self.observed)
        own = value(f"misfit.{self.doubt}") if self.doubt else 0.0
        variance = self.variance + own**2
        distance = np.sum((self.axes.T @ (self.observed - mu[:, 0])) ** 2 / variance)
        factor = min((nu + m) / (nu + m + 2), (nu + m) / (nu + distance))
        return np.asarray(factor * (self.axes / variance) @ self.axes.T)

    def surprise(self, mu: Array) -> float:
        """Return the largest standardised distance of the reading from its predictions."""
        centre = np.nanmedian(mu, axis=1)
        spread = np.nanvar(self.axes.T @ mu, axis=1)
        off = self.axes.T @ (self.observed - centre)
        return float(np.max(np.abs(off) / np.sqrt(self.variance + spread)))


@attrs.frozen(kw_only=True, eq=False)
class Word:
    """A word of an ordered scale.

    Parameters
    ----------
    place : int
        Where the word stands on its scale, from 0.
    scale : str
        Handbook scale: body or depth.
    who : str
        Whose word it is.
    """

    number: int
    place: int
    scale: str
    who: str

    def _cuts(self, draws: Draws) -> Array:
        """Return the inner cuts of this person, (K - 1, N)."""
        shift = draws.of(f"who:{self.who}/{self.scale}", "misfit.unit")
        cuts = []
        for k in range(1, len(words(self.scale))):
            cut = row(f"words.{self.scale}.cut.{k}")
            centre = np.log(cut.value) if cut.shape == "lognormal" else cut.value
            cuts.append(centre + cut.scale() * shift)
        return np.sort(np.stack(cuts), axis=0)

    @property
    def doubt(self) -> None:
        """A word carries its own blur; the model's errors are small beside it."""
        return

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0, tail: float = 0.0) -> Array:
        """Return the log-probability of the word, (N,)."""
        del doubt, tail
        blur, slip = value(f"words.{self.scale}.blur"), value("readings.word_slip")
        edge = np.full((1, draws.n), np.inf)
        cuts = np.concatenate([-edge, self._cuts(draws), edge])
        inside = ndtr((cuts[self.place + 1] - mu[0]) / blur) - ndtr((cuts[self.place] - mu[0]) / blur)
        return np.asarray(np.log((1.0 - slip) * inside + slip / len(words(self.scale))))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return minus the second difference of the log-probability, never negative, (1, 1)."""
        h = value(f"words.{self.scale}.blur") / 2
        low, middle, high = (float(self.log_density(mu + d, draws)[0]) for d in (-h, 0.0, h))
        return np.array([[max(-(low - 2 * middle + high) / h**2, 0.0)]])

    def surprise(self, mu: Array) -> float:
        """Return how far outside the word's own interval the predictions lie, in their spread."""
        names = words(self.scale)
        rows_ = [row(f"words.{self.scale}.cut.{k}") for k in range(1, len(names))]
        cuts = [np.log(c.value) if c.shape == "lognormal" else c.value for c in rows_]
        bounds = [-np.inf, *cuts, np.inf]
        low, high = bounds[self.place], bounds[self.place + 1]
        centre, spread = float(np.nanmedian(mu)), float(np.nanstd(mu))
        off = max(low - centre, centre - high, 0.0)
        own = value(f"words.{self.scale}.blur") + max(c.scale() for c in rows_)
        return off / float(np.hypot(own, spread))


@attrs.frozen(kw_only=True, eq=False)
class Compared:
    """One trial against another: less (-1), the same (0) or more (1), ordered probit about zero.

    Parameters
    ----------
    apart : float
        Difference from which two are not called the same.
    blur : float
        How unsurely it is judged, same unit.
    """

    number: int
    place: int
    apart: float
    blur: float

    @property
    def doubt(self) -> None:
        """A comparison carries its own blur."""
        return

    def log_density(self, mu: Array, draws: Draws, doubt: float = 0.0, tail: float = 0.0) -> Array:
        """Return the log-probability of what was said, (N,)."""
        del draws, doubt, tail
        slip, choices = value("readings.word_slip"), 3
        edges = (-np.inf, -self.apart, self.apart, np.inf)
        low, high = edges[self.place + 1], edges[self.place + 2]
        inside = ndtr((high - mu[0]) / self.blur) - ndtr((low - mu[0]) / self.blur)
        return np.asarray(np.log((1.0 - slip) * inside + slip / choices))

    def information(self, mu: Array, draws: Draws) -> Array:
        """Return minus the second difference of the log-probability, never negative, (1, 1)."""
        h = self.blur / 2
        low, middle, high = (float(self.log_density(mu + d, draws)[0]) for d in (-h, 0.0, h))
        return np.array([[max(-(low - 2 * middle + high) / h**2, 0.0)]])

    def surprise(self, mu: Array) -> float:
        """Return how far outside what was said the predictions lie, in their spread."""
        edges = (-np.inf, -self.apart, self.apart, np.inf)
        centre, spread = float(np.nanmedian(mu)), float(np.nanstd(mu))
        off = max(edges[self.place + 1] - centre, centre - edges[self.place + 2], 0.0)
        return off / float(np.hypot(self.blur, spread))


def words(scale: str) -> list[str]:
    """Return the words of a scale, in order."""
    return list(group(f"words.{scale}")["order"])


def make_evidence(item: Recorded, scene: predict.Scene) -> Evidence:
    """Return a reading as a likelihood."""
    reading = item.entry
    assert isinstance(reading, Reading)  # noqa: S101  (a plan's evidence holds readings only)
    if reading.what == "than":
        return _than(item.number, reading)
    if reading.what in ("body", "depth", "hue", "flow"):
        return Word(
            number=item.number,
            place=words(reading.what).index(str(reading.value)),
            scale=reading.what,
            who=reading.who or "maker",
        )
    measure = predict.measure_of(item.number, reading, scene.photos)
    if measure is not None:
        variance, axes = np.linalg.eigh(measure.covariance)
        return Number(
            number=item.number,
            observed=measure.density,
            axes=axes,
            variance=np.maximum(variance, 1e-8),
            doubt="channel",
        )
    return _one_number(item.number, reading)


def _than(number: int, reading: Reading) -> Compared:
    word, _ = reading.compared or ("same", "")
    is_body = word in ("thinner", "thicker")
    place = {"paler": -1, "thinner": -1, "same": 0, "darker": 1, "thicker": 1}[word]
    of = "_body" if is_body else ""
    return Compared(
        number=number, place=place, apart=value(f"words.than.apart{of}"), blur=value(f"words.than.blur{of}")
    )


def _one_number(number: int, reading: Reading) -> Number:
    quantity = reading.value
    assert isinstance(quantity, Quantity)  # noqa: S101  (wire.decode has seen to it)
    if reading.what in _LOGARITHMIC:
        observed = np.log(max(quantity.value, NOTHING))
        spread = quantity.scale()
    else:
        observed, spread = quantity.value, quantity.sd
    return Number(
        number=number,
        observed=np.array([observed]),
        axes=np.eye(1),
        variance=np.array([max(spread**2, 1e-8)]),
        doubt="thickness" if reading.what == "viscosity" else None,
    )
