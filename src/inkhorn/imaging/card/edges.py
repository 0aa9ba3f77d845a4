"""The corners of a marker from its edges, measured in linear light below a pixel."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Picture
from inkhorn.imaging.pixels import sampled

Array = NDArray[np.float64]

# numbers-in-code: cells across a marker of five by five with its black border
_CELLS = 7
#: Stations along an edge and steps across it, px: nearer ones share their pixels and say nothing new.
_APART, _STEP = 2.0, 0.5


def refined(picture: Picture, corners: Array) -> Array | None:
    """Return the corners (4, 2) px where lines along the four edges meet, or None if an edge is not clear.

    Across each edge the light goes from white paper to the black border; it is
    crossed at half of that step, which a symmetric blur does not move. Printed
    black that spreads moves all four edges outwards alike, and the fit of the
    whole card knows that.
    """
    height, width = picture.shape
    side = float(np.min(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)))
    reach = 0.7 * side / _CELLS  # numbers-in-code: stays inside the border of one cell
    low = np.floor(corners.min(axis=0) - 2 * reach - 2).astype(int)
    high = np.ceil(corners.max(axis=0) + 2 * reach + 2).astype(int)
    if low.min() < 0 or high[0] >= width or high[1] >= height or reach < 1:
        return None
    colour = picture.part(slice(low[1], high[1] + 1), slice(low[0], high[0] + 1), own=True)
    light = np.asarray(cv2.transform(colour, np.full((1, 3), 1 / 3)), dtype=np.float32)
    lines = [_line(light, corners[i] - low, corners[(i + 1) % 4] - low, reach) for i in range(4)]
    if any(line is None for line in lines):
        return None
    met = [_meet(lines[i - 1], lines[i]) for i in range(4)]
    out = np.array(met) + low
    near = np.linalg.norm(out - corners, axis=1).max() < 2 * reach
    return out if near and np.isfinite(out).all() else None


def _line(light: NDArray[np.float32], start: Array, end: Array, reach: float) -> tuple[Array, Array] | None:
    """Return a point and a direction of the edge from ``start`` to ``end`` (clockwise, black on its right)."""
    along = end - start
    length = float(np.hypot(*along))
    along = along / length
    outward = np.array([along[1], -along[0]])
    count = max(8, int(length / _APART))
    # numbers-in-code: a tenth of the edge at both ends is left out, where the corner rounds it
    places = start + along * (length * np.linspace(0.1, 0.9, count))[:, None]
    steps = np.arange(-reach, reach + 1e-6, _STEP)
    points = places[:, None, :] + outward * steps[:, None]
    profiles = sampled(np.ascontiguousarray(light), points)
    few = max(1, steps.size // 6)
    dark, bright = profiles[:, :few].mean(axis=1), profiles[:, -few:].mean(axis=1)
    clear = bright > 2 * np.maximum(dark, 1e-4)
    if clear.sum() < count / 2:
        return None
    level = (dark + bright)[:, None] / 2
    above = profiles > level
    first = np.argmax(above, axis=1)
    clear &= (first > 0) & above.any(axis=1)
    rows = np.flatnonzero(clear)
    if rows.size < count / 2:
        return None
    below, over = profiles[rows, first[rows] - 1], profiles[rows, first[rows]]
    share = (level[rows, 0] - below) / np.maximum(over - below, 1e-9)
    offset = steps[first[rows] - 1] + share * _STEP
    position = np.linspace(-1, 1, count)[rows]
    weight = np.ones(rows.size)
    basis = np.stack([np.ones_like(position), position])
    for _ in range(5):
        held = basis * weight**2
        slope = np.linalg.solve(held @ basis.T, held @ offset)
        miss = np.abs(offset - slope @ basis)
        usual = float(np.partition(miss, miss.size // 2)[miss.size // 2])
        weight = 1 / (1 + (miss / max(0.05, usual)) ** 2)  # numbers-in-code: px, tolerance
    middle = (places[0] + places[-1]) / 2
    half = np.linalg.norm(places[-1] - places[0]) / 2
    way = along + outward * slope[1] / half
    return middle + outward * slope[0], way / np.hypot(*way)


def _meet(one: tuple[Array, Array] | None, other: tuple[Array, Array] | None) -> Array:
    if one is None or other is None:
        return np.full(2, np.nan)
    return np.asarray(
        one[0] + one[1] * np.linalg.solve(np.array([one[1], -other[1]]).T, other[0] - one[0])[0]
    )
