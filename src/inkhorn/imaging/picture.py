"""A picture in linear light, and what was learnt while it was opened."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]


@attrs.frozen(kw_only=True, eq=False)
class Picture:
    """An upright picture in linear sRGB at working resolution.

    Attributes
    ----------
    linear : ndarray, float32, shape (H, W, 3)
        Linear light, 1 = the encoding's white.
    valid : ndarray of bool, shape (H, W)
        False where the file says there is nothing (transparent).
    reduction : float
        Source pixels per working pixel along a side; 1 if not reduced.
    grey : bool
        The source carries no colour: all three channels are equal.
    compressed : bool
        The source format loses detail (JPEG and its kin).
    notes : tuple of str
        What the reader of a measurement should know about the file.
    """

    linear: Floats
    valid: Mask
    reduction: float
    grey: bool
    compressed: bool
    notes: tuple[str, ...]

    @property
    def shape(self) -> tuple[int, int]:
        """Return height and width, px."""
        height, width = self.linear.shape[:2]
        return height, width
