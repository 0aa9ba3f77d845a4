"""Frozen types of the handbook: a row and the source mark it must carry."""

from __future__ import annotations

import math
from typing import Literal

import attrs
import numpy as np
from numpy.typing import NDArray

Mark = Literal["published", "common practice", "memory", "defined", "invented"]
Shape = Literal["normal", "lognormal", "logitnormal"]
MARKS: tuple[Mark, ...] = ("published", "common practice", "memory", "defined", "invented")
SHAPES: tuple[Shape, ...] = ("normal", "lognormal", "logitnormal")


@attrs.frozen(kw_only=True)
class Row:
    """One number of the handbook with its unit, spread and source.

    ``value`` is the centre (the median where ``shape`` is not normal);
    ``value + spread`` is the upper one-standard-deviation point, whatever the
    shape: a lognormal row has ln-scale ``ln(1 + spread/value)``, a
    logit-normal row ``logit(value + spread) - logit(value)``.
    """

    name: str
    what: str
    value: float
    unit: str
    spread: float
    shape: Shape
    mark: Mark
    source: str

    def scale(self) -> float:
        """Return one standard deviation on the row's own scale (linear, ln or logit)."""
        if self.shape == "normal":
            return self.spread
        if self.shape == "lognormal":
            return math.log1p(self.spread / self.value)
        return _logit(self.value + self.spread) - _logit(self.value)

    def at(self, z: NDArray[np.float64]) -> NDArray[np.float64]:
        """Map standard-normal ``z``, any shape, to values of this row."""
        if self.shape == "normal":
            return np.asarray(self.value + self.spread * z)
        if self.shape == "lognormal":
            return np.asarray(self.value * np.exp(self.scale() * z))
        return np.asarray(1.0 / (1.0 + np.exp(-(_logit(self.value) + self.scale() * z))))

    def draw(self, n: int, rng: np.random.Generator) -> NDArray[np.float64]:
        """Draw ``n`` values, shape ``(n,)``, in the row's unit."""
        return self.at(rng.standard_normal(n))


def _logit(p: float) -> float:
    return math.log(p / (1.0 - p))
