"""How one person sees and says things: where their words begin, and what their eye makes of an amount.

Two people who say "thick" do not mean the same viscosity, but each means much
the same from day to day. Each person has, for each scale of words that they
use, a lasting shift of all its cuts and a stretch of the scale about its
middle. Both act on the prediction: a word is then held against the handbook's
own cuts.
"""

from __future__ import annotations

import functools

import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import group, row, value
from inkhorn.handbook.rows import Row
from inkhorn.quantities import Quantity
from inkhorn.replay import kin
from inkhorn.replay.draws import STANDARD, Draws
from inkhorn.replay.liquor import Array


@functools.cache
def words(scale: str) -> tuple[str, ...]:
    """Return the words of a scale, in order."""
    return tuple(group(f"words.{scale}")["order"])


@functools.cache
def cuts(scale: str) -> tuple[float, ...]:
    """Return the boundaries between neighbouring words, as the handbook has them, on the scale of the prediction."""
    return tuple(_centre(r) for r in _cut_rows(scale))


@functools.cache
def shift_size(scale: str) -> float:
    """Return the spread of a person's shift: that of the surest cut. What the outer cuts have more is stretch."""
    return min(r.scale() for r in _cut_rows(scale))


def _cut_rows(scale: str) -> tuple[Row, ...]:
    return tuple(row(f"words.{scale}.cut.{k}") for k in range(1, len(words(scale))))


def _centre(cut: Row) -> float:
    return float(np.log(cut.value)) if cut.shape == "lognormal" else cut.value


def heard(scale: str, who: str | None, mu: Array, draws: Draws) -> Array:
    """Return where a prediction lies among the handbook's cuts, as this person uses the words, (N,).

    Parameters
    ----------
    mu : ndarray, shape (N,)
        The prediction on the scale of the cuts.
    """
    name, middle = kin.person(who), float(np.mean(cuts(scale)))
    shift = shift_size(scale) * draws.of(f"who:{name}/{scale}.shift", STANDARD)
    stretch = draws.of(f"who:{name}/{scale}.stretch", "words.stretch")
    return np.asarray(middle + (mu - middle - shift) / stretch)


def bias(reading: Reading, draws: Draws) -> Array | float:
    """Return the lasting bias, on the logarithm, of whoever judged a reading's amount by eye, (N,); 0 if measured.

    The sign is that of the steps: who takes two litres for one and a half
    both pours and reads so, and the truth lies above the figure each time.
    """
    said = reading.value
    if not isinstance(said, Quantity) or not kin.is_by_eye(said):
        return 0.0
    size = said.scale() * np.sqrt(value("readings.eye_share"))
    return np.asarray(size * draws.of(kin.eye_of(reading.who, said), STANDARD))


def own_part(said: Quantity) -> float:
    """Return the part of an amount's spread that is not its teller's lasting bias, as a factor."""
    return float(np.sqrt(1.0 - value("readings.eye_share"))) if kin.is_by_eye(said) else 1.0
