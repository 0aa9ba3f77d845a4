"""Thinning of a mask to lines one pixel wide."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Mask

# neighbours P2..P9 clockwise from the top, as bits 0..7 of a code
_WEIGHTS = np.array([[128, 1, 2], [64, 0, 4], [32, 16, 8]], np.float32)


def _tables() -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return, for each of the two passes, which neighbour codes let a pixel be deleted."""
    code = np.arange(256)
    bit = [(code >> k) & 1 for k in range(8)]
    total = sum(bit)
    turns = sum((1 - bit[k]) & bit[(k + 1) % 8] for k in range(8))
    common = (total >= 2) & (total <= 6) & (turns == 1)
    p2, p4, p6, p8 = bit[0], bit[2], bit[4], bit[6]
    first = common & (p2 * p4 * p6 == 0) & (p4 * p6 * p8 == 0)
    second = common & (p2 * p4 * p8 == 0) & (p2 * p6 * p8 == 0)
    return first, second


_PASSES = _tables()
_ARMS = np.array([sum((k >> i) & 1 < (k >> (i + 1) % 8) & 1 for i in range(8)) for k in range(256)], np.uint8)


def skeleton(mask: Mask) -> Mask:
    """Return the skeleton of a mask, bool (H, W), by the two-pass thinning of [ZHANGSUEN].

    Only the outline of what is left is looked at in each pass: a pixel can be
    deleted only if it has a neighbour outside. Checked in
    ``tests/published/test_imaging_thin.py``.
    """
    height, width = mask.shape
    padded = np.zeros((height + 2, width + 2), np.uint8)
    padded[1:-1, 1:-1] = mask
    image, row = padded.reshape(-1), width + 2
    steps = np.array([-row, 1 - row, 1, row + 1, row, row - 1, -1, -row - 1])
    inner = np.asarray(cv2.erode(padded, np.ones((3, 3), np.uint8)), dtype=np.uint8).reshape(-1)
    rim = np.flatnonzero(image > inner)
    idle = 0
    while rim.size and idle < len(_PASSES):
        for table in _PASSES:
            code = np.zeros(rim.size, np.uint8)
            for k, step in enumerate(steps):
                code |= image[rim + step] << k
            leave = table[code]
            gone = rim[leave]
            idle = 0 if gone.size else idle + 1
            if not gone.size:
                continue
            image[gone] = 0
            rim = _outline(image, rim[~leave], gone, steps)
    return np.asarray(padded[1:-1, 1:-1] > 0)


def _outline(
    image: NDArray[np.uint8], rim: NDArray[np.int64], gone: NDArray[np.int64], steps: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Add to what is left of an outline the pixels that were laid open."""
    image[rim] = 2
    found = [rim]
    for step in steps:  # neighbours to one side of different pixels differ, so that none is found twice
        fresh = gone + step
        fresh = fresh[image[fresh] == 1]
        image[fresh] = 2
        found.append(fresh)
    out = np.concatenate(found)
    image[out] = 1
    return out


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
