"""Turn a part of the card's plane into a flat picture in true proportion."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.card.layout import Rect
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import by_strips

Array = NDArray[np.float64]

_DEEP = np.iinfo(np.uint16).max
#: Both the bend of a lens and a tilted plane are straight, to a hundredth of a pixel, over so many pixels.
_APART = 12


def flattened(
    picture: Picture,
    to_px: Callable[[Array], Array],
    rect: Rect,
    px_per_mm: float,
    light: Callable[[Floats], Floats],
    gain: Callable[[Array], Array],
) -> tuple[NDArray[np.uint16], Mask]:
    """Return light in 65535 steps (H, W, 3) over a rectangle of the card's plane, and where the picture shows it.

    Parameters
    ----------
    to_px : callable
        From places (..., 2) mm to px of the picture.
    rect : left, top, width, height, mm
    px_per_mm : float
        Of the answer.
    light : callable
        Turns recorded linear light into light, white at 1; it is applied before pixels are mixed.
    gain : callable
        Factors (..., 3) by which the light at places (..., 2) mm is multiplied; smooth over the rectangle.
    """
    left, top, width, height = rect
    size = (max(1, round(width * px_per_mm)), max(1, round(height * px_per_mm)))
    out = np.zeros((size[1], size[0], 3), np.uint16)
    valid = np.zeros((size[1], size[0]), bool)
    most = np.array(picture.shape[::-1]) - 1

    def strip(first: int) -> None:
        rows = min(8 * _APART, size[1] - first)
        mm = _coarse(left, top, px_per_mm, (size[0], rows), first)
        rough = to_px(mm)
        seen = (rough >= 0) & (rough <= most)
        low = np.maximum(np.floor(rough.min(axis=(0, 1))).astype(int) - 1, 0)
        high = np.minimum(np.ceil(rough.max(axis=(0, 1))).astype(int) + 2, most + 1)
        if (high - low < 2).any():
            return
        at = _fine(rough - low, (size[0], rows))
        valid[first : first + rows] = seen.all() or ((at >= -low) & (at <= most - low)).all(axis=-1)
        part = picture.lit(slice(low[1], high[1]), slice(low[0], high[0]), light)
        # both coordinates lie in one array, so there is no second one; an empty array would be taken for one
        flat = cv2.remap(part, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
        factor = _fine(gain(mm), (size[0], rows))
        cv2.multiply(flat, factor, out[first : first + rows], dtype=cv2.CV_16U)

    by_strips(strip, size[1], 8 * _APART)  # each stays in the processor's own memory
    return out, valid


def _coarse(left: float, top: float, px_per_mm: float, size: tuple[int, int], first: int) -> Array:
    """Return places in mm, ``_APART`` px from each other and half as much outside the strip, (h, w, 2)."""
    count = [-(-side // _APART) + 2 for side in size]
    x, y = ((np.arange(n) - 0.5) * _APART for n in count)
    return np.stack(np.meshgrid(left + x / px_per_mm, top + (y + first) / px_per_mm), axis=-1)


def _fine(coarse: Array, size: tuple[int, int]) -> Floats:
    """Return what is known at the places of `_coarse` at every pixel, by linear interpolation."""
    height, width = coarse.shape[:2]
    whole = (width * _APART, height * _APART)
    fine = cv2.resize(coarse.astype(np.float32), whole, interpolation=cv2.INTER_LINEAR)
    return np.asarray(fine[_APART : _APART + size[1], _APART : _APART + size[0]], dtype=np.float32)
