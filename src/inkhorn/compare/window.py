"""Choose what part of a sheet to show, and bring two sheets to one scale."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.compare.picture import Mask, Sheet


def framed(sheet: Sheet, size: tuple[int, int], factor: float) -> Sheet:
    """Return the best window of a sheet enlarged by ``factor`` to exactly this height and width."""
    height, width = (max(2, round(side / factor)) for side in size)
    return scaled(best_window(sheet, height, width), size, factor)


def scaled(sheet: Sheet, shape: tuple[int, int], factor: float) -> Sheet:
    """Return the sheet resized to a height and width, averaging in linear light."""
    size = shape[::-1]
    smooth = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC

    def picture(array: np.ndarray) -> np.ndarray:
        return np.maximum(cv2.resize(array, size, interpolation=smooth), 0)

    def mask(array: Mask) -> Mask:
        return np.asarray(cv2.resize(array.astype(np.float32), size, interpolation=smooth) >= 0.5)

    return attrs.evolve(
        sheet,
        linear=picture(sheet.linear),
        support=picture(sheet.support),
        strokes=mask(sheet.strokes),
        worn=mask(sheet.worn),
        blur_px=sheet.blur_px * factor,
        stroke_px=sheet.stroke_px * factor,
        mm_per_px=None if sheet.mm_per_px is None else sheet.mm_per_px / factor,
    )


def relative_scale(sheet: Sheet, other: Sheet) -> float:
    """Return by how much ``sheet`` must be resized to stand beside ``other``.

    By millimetres where both know theirs; otherwise so that the strokes are equally wide.
    """
    if sheet.mm_per_px and other.mm_per_px:
        return sheet.mm_per_px / other.mm_per_px
    return other.stroke_px / max(sheet.stroke_px, 1)


def best_window(sheet: Sheet, height: int, width: int) -> Sheet:
    """Return the window of this size with the most strokes in it, those in its middle half counted twice over.

    A sheet that is smaller is padded with bare skin.
    """
    whole = padded(sheet, height, width)
    total = cv2.integral(whole.strokes.astype(np.uint8)).astype(np.int64)
    down, across = height // 4, width // 4
    inside = _boxes(total, height, width)
    core = _boxes(total, height - 2 * down, width - 2 * across)
    inside += 2 * core[down : down + inside.shape[0], across : across + inside.shape[1]]
    top, left = (int(i) for i in np.unravel_index(int(inside.argmax()), inside.shape))
    return whole.cut(top, left, height, width)


def _boxes(total: NDArray[np.int64], height: int, width: int) -> NDArray[np.int64]:
    """Return the sum in every window of a size, from the integral of a picture."""
    return (
        total[height:, width:] - total[:-height, width:] - total[height:, :-width] + total[:-height, :-width]
    )


def padded(sheet: Sheet, height: int, width: int) -> Sheet:
    """Return the sheet with bare skin around it up to this size."""
    high, wide = sheet.linear.shape[:2]
    down, across = max(0, height - high), max(0, width - wide)
    if not (down or across):
        return sheet
    edges = ((down // 2, down - down // 2), (across // 2, across - across // 2))
    bare = np.median(sheet.support.reshape(-1, 3), axis=0)
    room = np.tile(bare.astype(np.float32), (high + down, wide + across, 1))
    linear, support = room.copy(), room
    here = np.s_[edges[0][0] : edges[0][0] + high, edges[1][0] : edges[1][0] + wide]
    linear[here], support[here] = sheet.linear, sheet.support
    return attrs.evolve(
        sheet,
        linear=linear,
        support=support,
        strokes=np.pad(sheet.strokes, edges),
        worn=np.pad(sheet.worn, edges),
    )
