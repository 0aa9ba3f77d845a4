"""Where the strip lies in the frame."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.handbook.load import value
from inkhorn.imaging.card.layout import Rect
from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import closed, disc, erode, level_of, nearest, opened, pieces

_DEEP = np.iinfo(np.uint16).max
#: Of the picture in which the strip is looked for, px per mm.
ROUGH = 4.0


def strip_in(
    flat: NDArray[np.uint16], paper: NDArray[np.float64], valid: Mask, px_per_mm: float
) -> Mask | None:
    """Return the part of the frame to be measured, or None where the frame shows bare card only.

    Parameters
    ----------
    flat : ndarray uint16 (H, W, 3)
        Reflectance in 65535 steps.
    paper : ndarray (3,)
        Reflectance of the card's paper.
    valid : ndarray of bool (H, W)

    Returns
    -------
    ndarray of bool (H, W) or None
        The strip without its edge; the whole frame where the strip fills it, or
        where somebody wrote on the card itself.
    """
    step = max(1.0, px_per_mm / 4)
    size = (max(1, round(flat.shape[1] / step)), max(1, round(flat.shape[0] / step)))
    small: Floats = np.divide(
        cv2.resize(flat, size, interpolation=cv2.INTER_AREA), paper * _DEEP, dtype=np.float32
    )
    tone = 10 ** value("card.paper_tone")
    other = (cv2.inRange(small, np.full(3, 1 / tone), np.full(3, tone)) == 0).astype(np.uint8)
    per_mm = size[0] / flat.shape[1] * px_per_mm
    side = 2 * round(value("card.strip_least") * per_mm / 2) + 1
    solid = opened(np.pad(other, side, mode="edge"), disc(side))[side:-side, side:-side]
    solid = closed(np.pad(solid, side), disc(side))[side:-side, side:-side]
    count, labels = pieces(solid > 0)
    if count > 1:
        sizes = np.bincount(labels.ravel(), minlength=count)
        sizes[0] = 0
        best = int(sizes.argmax())
        if sizes[best] > value("card.strip_share") * labels.size:
            strip = (labels == best).astype(np.uint8)
            inset = 2 * max(1, round(value("card.strip_edge") * per_mm)) + 1
            inner = erode(np.pad(strip, inset, mode="edge"), disc(inset))[inset:-inset, inset:-inset]
            return nearest(inner > 0, (flat.shape[1], flat.shape[0])) & valid
    if float((level_of(small) < 1 - value("card.paper_unlike")).mean()) > value("card.writing_share"):
        return valid
    return None


def cut(rect: Rect, strip: Mask) -> tuple[Rect, Mask]:
    """Return the least rectangle that holds a strip, mm, and the strip in it.

    Parameters
    ----------
    rect : left, top, width, height, mm
        What ``strip`` shows.
    strip : ndarray of bool (H, W)
    """
    rows, columns = np.flatnonzero(strip.any(axis=1)), np.flatnonzero(strip.any(axis=0))
    if not rows.size:
        return rect, strip
    top, foot, left, right = int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1
    across, down = rect[2] / strip.shape[1], rect[3] / strip.shape[0]
    part = (rect[0] + left * across, rect[1] + top * down, (right - left) * across, (foot - top) * down)
    return part, strip[top:foot, left:right]
