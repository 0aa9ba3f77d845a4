"""The light that falls on the card, from its bare paper: smooth, one colour with a slow drift."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Field:
    """Light of the card's paper over its plane.

    Attributes
    ----------
    numbers : ndarray (6, 3)
        Of a second-degree surface of the natural logarithm of light, for each channel.
    middle, half : ndarray (2,)
        What is subtracted from and divides a place in mm.
    miss : float
        Robust spread of the paper's light about it, as a share.
    """

    numbers: Array
    middle: Array
    half: Array
    miss: float

    def at(self, places: Array) -> Array:
        """Return light (..., 3) of paper at places (..., 2) mm; beyond the card its edge goes on."""
        unit = np.clip((places - self.middle) / self.half, -1, 1)
        return np.asarray(np.exp(_terms(unit) @ self.numbers))


def fit_field(places: Array, light: Array) -> Field:
    """Fit the field to paper at places (n, 2) mm with light (n, 3); shadows' edges and dirt count little."""
    middle = (places.max(axis=0) + places.min(axis=0)) / 2
    half = np.ptp(places, axis=0) / 2
    terms, logs = _terms((places - middle) / half), np.log(np.maximum(light, 1e-6))
    bright = logs.mean(axis=1)
    weight = np.ones(len(places))
    miss = np.zeros(len(places))
    scale = 0.0
    for _ in range(8):
        root = np.sqrt(weight)[:, None]
        # a weak pull on the bent terms keeps them from following a few places
        ridge = np.diag(np.array([0.0, 0, 0, 1, 1, 1])) / 10
        left, right = np.vstack([terms * root, ridge]), np.concatenate([bright * root[:, 0], np.zeros(6)])
        shape = np.linalg.lstsq(left, right, rcond=None)[0]
        miss = bright - terms @ shape
        # numbers-in-code: 1/Phi^-1(3/4), normal distribution
        scale = max(1e-3, 1.4826 * float(np.median(np.abs(miss))))
        weight = 1 / (1 + (miss / (3 * scale)) ** 2)
    drift = np.linalg.lstsq(terms[:, :3] * root, (logs - bright[:, None]) * root, rcond=None)[0]
    numbers = np.repeat(shape[:, None], 3, axis=1)
    numbers[:3] += drift
    return Field(numbers=numbers, middle=middle, half=half, miss=float(np.sqrt(np.mean(miss**2))))


def _terms(unit: Array) -> Array:
    x, y = unit[..., 0], unit[..., 1]
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
