"""Where a stroke must have run although its ink is gone: filling along the stroke.

A worn gap is bridged only along the direction in which the ink on *both*
sides runs: for each angle, keep the parts of strokes that are elongated along
it, close them with a line of that angle, and keep what was closed. Parallel
strokes side by side are not joined, because neither is elongated across.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Mask
from inkhorn.imaging.settings import Settings


def envelope(ink: Mask, width: float, settings: Settings, *, reach: float = 1.0) -> Mask:
    """Return ink with its inferred gaps filled, bool (H, W).

    Parameters
    ----------
    ink : ndarray of bool (H, W)
    width : float
        Usual stroke width, px.
    reach : float
        Factor on how far a gap may be bridged; 0 fills only pinholes.
    """
    shrink = max(1.0, width / settings.gap_width)
    height, across = ink.shape
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    small = cv2.resize(ink.astype(np.float32), size, interpolation=cv2.INTER_AREA) >= 0.5
    grid = small.astype(np.uint8)
    filled = _holes(grid, width / shrink, settings)
    if reach > 0:
        filled = _along(filled, width / shrink, reach, settings)
        filled = _holes(filled, width / shrink, settings)
    added = cv2.resize((filled & ~grid & 1).astype(np.float32), (across, height), interpolation=cv2.INTER_LINEAR)
    full = ink | (added > 0.5)
    return np.asarray(cv2.morphologyEx(full.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8)) > 0) | ink


def _holes(grid: NDArray[np.uint8], width: float, settings: Settings) -> NDArray[np.uint8]:
    """Fill holes and notches that are narrower than a stroke and enclosed by ink on most sides."""
    size = 2 * max(1, round(width * settings.gap_least / 2)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    closed = cv2.morphologyEx(grid, cv2.MORPH_CLOSE, disc)
    return np.asarray(closed | grid, dtype=np.uint8)


def _along(grid: NDArray[np.uint8], width: float, reach: float, settings: Settings) -> NDArray[np.uint8]:
    lead = max(3, round(settings.gap_lead * width))
    gap = max(2, round(settings.gap_reach * reach * width))
    angles = int(settings.gap_angles)
    out = grid.copy()
    for k in range(angles):
        theta = math.pi * k / angles
        runs = cv2.morphologyEx(grid, cv2.MORPH_OPEN, _line(lead, theta))
        if not runs.any():
            continue
        closed = cv2.morphologyEx(runs, cv2.MORPH_CLOSE, _line(gap, theta))
        out |= closed
    return out


def _line(length: int, theta: float) -> NDArray[np.uint8]:
    """Return a line-shaped structuring element of odd size through its centre."""
    half = length / 2
    side = 2 * math.ceil(half) + 1
    middle = side // 2
    kernel = np.zeros((side, side), np.uint8)
    steps = np.linspace(-half, half, 4 * side)
    x = np.clip(np.rint(middle + steps * math.cos(theta)).astype(int), 0, side - 1)
    y = np.clip(np.rint(middle + steps * math.sin(theta)).astype(int), 0, side - 1)
    kernel[y, x] = 1
    return kernel
