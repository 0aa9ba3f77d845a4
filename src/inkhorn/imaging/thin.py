"""Thinning of a mask to lines one pixel wide."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Mask

# neighbours P2..P9 clockwise from the top, as bits 0..7 of a code
_WEIGHTS = np.array([[128, 1, 2], [64, 0, 4], [32, 16, 8]], np.float32)


def _tables() -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Return, for each of the two passes, which neighbour codes let a pixel be deleted."""
    code = np.arange(256)
    bit = [(code >> k) & 1 for k in range(8)]
    total = sum(bit)
    turns = sum((1 - bit[k]) & bit[(k + 1) % 8] for k in range(8))
    common = (total >= 2) & (total <= 6) & (turns == 1)
    p2, p4, p6, p8 = bit[0], bit[2], bit[4], bit[6]
    first = common & (p2 * p4 * p6 == 0) & (p4 * p6 * p8 == 0)
    second = common & (p2 * p4 * p8 == 0) & (p2 * p6 * p8 == 0)
    return first.astype(np.uint8), second.astype(np.uint8)


_PASSES = _tables()
_ARMS = np.array([sum((k >> i) & 1 < (k >> (i + 1) % 8) & 1 for i in range(8)) for k in range(256)], np.uint8)


def skeleton(mask: Mask) -> Mask:
    """Return the skeleton of a mask, bool (H, W), by the two-pass thinning of [ZHANGSUEN].

    Checked in ``tests/published/test_imaging_thin.py``.
    """
    image = np.pad(mask.astype(np.uint8), 1)
    while True:
        before = int(np.count_nonzero(image))
        for table in _PASSES:
            code = cv2.filter2D(image, cv2.CV_8U, _WEIGHTS, borderType=cv2.BORDER_CONSTANT)
            image[(cv2.LUT(code, table) > 0) & (image > 0)] = 0
        if int(np.count_nonzero(image)) == before:
            return np.asarray(image[1:-1, 1:-1] > 0)


def arms(lines: Mask) -> NDArray[np.uint8]:
    """Return how many arms leave each pixel of thin lines, uint8 (H, W); 0 off the lines.

    Arms are runs of neighbours round the pixel, so that the corner of a
    staircase, which touches three pixels, still counts two. One arm is an
    end, three or more a crossing.
    """
    image = lines.astype(np.uint8)
    code = cv2.filter2D(image, cv2.CV_8U, _WEIGHTS, borderType=cv2.BORDER_CONSTANT)
    return np.where(lines, cv2.LUT(code, _ARMS), 0).astype(np.uint8)


def tips(lines: Mask) -> Mask:
    """Return the pixels of thin lines that touch one other or none, bool (H, W)."""
    kernel = np.ones((3, 3), np.float32)
    kernel[1, 1] = 0
    count = cv2.filter2D(lines.astype(np.uint8), cv2.CV_8U, kernel, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(lines & (count <= 1))
