"""Turn a part of the card's plane into a flat picture in true proportion."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.card.layout import Rect
from inkhorn.imaging.card.place import Place
from inkhorn.imaging.picture import Floats, Mask, Picture

Array = NDArray[np.float64]


def flattened(
    picture: Picture, place: Place, rect: Rect, px_per_mm: float, light: Callable[[Floats], Floats]
) -> tuple[Floats, Mask]:
    """Return linear light (H, W, 3) over a rectangle of the card's plane, and where the picture shows it.

    Parameters
    ----------
    rect : left, top, width, height, mm
    px_per_mm : float
        Of the answer.
    light : callable
        Turns recorded linear light into light; it is applied before pixels are mixed.
    """
    left, top, width, height = rect
    size = (max(1, round(width * px_per_mm)), max(1, round(height * px_per_mm)))
    out = np.zeros((size[1], size[0], 3), np.float32)
    valid = np.zeros((size[1], size[0]), bool)
    x = left + (np.arange(size[0]) + 0.5) / px_per_mm
    for first in range(0, size[1], 256):  # strips bound the memory of the map
        y = top + (np.arange(first, min(first + 256, size[1])) + 0.5) / px_per_mm
        at = place.to_px(np.stack(np.meshgrid(x, y), axis=-1))
        low = np.maximum(np.floor(at.min(axis=(0, 1))).astype(int) - 1, 0)
        high = np.minimum(np.ceil(at.max(axis=(0, 1))).astype(int) + 2, picture.shape[::-1])
        if (high - low < 2).any():
            continue
        part = light(picture.part(slice(low[1], high[1]), slice(low[0], high[0])))
        near = (at - low).astype(np.float32)
        rows = np.s_[first : first + len(y)]
        out[rows] = cv2.remap(
            part, near[..., 0], near[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        valid[rows] = ((at >= 0) & (at <= np.array(picture.shape[::-1]) - 1)).all(axis=-1)
    return out, valid
