"""Which pixels may be ink: darkness against the bare support, with two thresholds."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import by_strips, dilate, gauss, square, stretch, widened
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.surface import spread_of


def lost_light(picture: Floats | Picture, surface: Floats) -> Floats:
    """Return the share of light that the ink takes away, 1 - ink/support, float32 (H, W).

    The mean over channels of the ratio to the support; linear, so that blur
    and half-covered pixels mix in proportion. ``surface`` may be a small grid
    over the whole picture. Runs in strips, so that only the answer has full size.
    """
    height, width = picture.shape[:2]
    whole = surface.shape[:2] == (height, width)
    if not whole:
        weight = stretch(np.divide(1, np.maximum(surface, 1e-6), dtype=np.float32), (width, len(surface)))
    out = np.empty((height, width), np.float32)
    sum_up = np.full((1, 3), -1 / 3)
    deep = 32  # numbers-in-code: rows that stay in the processor's own memory

    def strip(top: int) -> None:
        rows = np.s_[top : min(height, top + deep)]
        light = picture[rows] if isinstance(picture, np.ndarray) else picture.part(rows, np.s_[:])
        if whole:
            ratio = cv2.divide(light, np.maximum(surface[rows], np.float32(1e-6)))
        else:
            ratio = cv2.multiply(light, _rows(weight, np.arange(rows.start, rows.stop), height))
        np.add(cv2.transform(ratio, sum_up), 1, out=out[rows])

    by_strips(strip, height, deep)
    return out


def _rows(grid: Floats, rows: NDArray[np.int64], height: int) -> Floats:
    """Return rows of a grid as if it were brought to ``height`` by linear interpolation."""
    place = np.clip((rows + 0.5) * len(grid) / height - 0.5, 0, len(grid) - 1)
    low = np.minimum(place.astype(int), max(0, len(grid) - 2))
    part = (place - low).astype(np.float32)[:, None, None]
    mixed = grid[low]
    step = grid[np.minimum(low + 1, len(grid) - 1)]
    step -= mixed
    step *= part
    mixed += step
    return np.asarray(mixed)


def noise_of(lost: Floats, sheet: Mask) -> float:
    """Return the spread of bare support: the lower half of the lost light, about its mode."""
    # numbers-in-code: a spread needs no more than some hundred thousand pixels
    skip = max(1, int((lost.size / 2e5) ** 0.5))
    sample = np.ascontiguousarray(lost[::skip, ::skip])
    known = np.ascontiguousarray(sheet[::skip, ::skip])
    counts = cv2.calcHist([sample], [0], known.view(np.uint8), [_BINS * _FINE], [-0.5, 0.5]).ravel()
    smooth = np.convolve(counts.reshape(_BINS, _FINE).sum(axis=1), np.ones(5) / 5, mode="same")
    last = (int(np.argmax(smooth)) + 1) * _FINE
    # what is far brighter than the support lies below the histogram
    below = np.cumsum(counts[:last]) + np.count_nonzero((sample < -0.5) & known)
    if not below[-1]:
        return spread_of(sample[known])
    middle = np.interp(below[-1] / 2, below, np.arange(1, last + 1))
    # numbers-in-code: Phi^-1(3/4), the median distance from the mode of a normal distribution, in its sd
    return float(max(1e-3, (last - middle) / (_BINS * _FINE) / 0.6745))


# numbers-in-code: bins of a histogram in which the mode is sought, and parts of each for the median below it
_BINS, _FINE = 200, 50


def depth_of(lost: Floats, sheet: Mask, noise: float, settings: Settings) -> float:
    """Return the lost light of the darker part of the ink, or 0 if nothing stands out.

    The values above the noise are split in two by Otsu's criterion [OTSU] (the darker
    part is strokes, the paler one edges, thinned ink, ruling, show-through);
    the median of the darker part is returned.
    """
    least = max(settings.least_contrast, settings.noise_steps * noise)
    # numbers-in-code: a median needs no more than some hundred thousand pixels
    skip = max(1, int((lost.size / 1e6) ** 0.5))
    part = lost[::skip, ::skip]
    above = part[sheet[::skip, ::skip] & (part > least)]
    if above.size * skip**2 < settings.core_few / 2 or np.ptp(above) < 1e-6:
        return 0.0
    cut = _otsu(above)
    return float(np.median(above[above >= cut]))


def _otsu(values: Floats) -> float:
    counts, edges = np.histogram(values, bins=256)
    middle = (edges[1:] + edges[:-1]) / 2
    low = np.cumsum(counts)
    high = low[-1] - low
    mass = np.cumsum(counts * middle)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = low * high * (mass / low - (mass[-1] - mass) / high) ** 2
    return float(middle[np.nanargmax(between)])


def candidates(
    lost: Floats, sheet: Mask, noise: float, depth: float, settings: Settings, *, width: float = 0.0
) -> tuple[Mask, Mask]:
    """Return (ink, ghosts): pixels that may be ink, and pale blurred marks that are not.

    A connected region above the low threshold is ink if it reaches the high
    one, or if its edge is as sharp for its depth as the edges of the deep ink
    are for theirs; otherwise (show-through, soiling) it is a ghost. Where the
    stroke width is known, soft pale parts of a region are cut off it first.
    """
    low = max(settings.low_share * depth, settings.noise_steps * noise)
    soft = gauss(lost, 1)
    slope = _slope(soft)
    above = sheet & (lost > low)
    region, faded = above.astype(np.uint8), np.zeros(sheet.shape, bool)
    if width:
        place = np.flatnonzero(above)
        pale, usual = _blurred(lost, soft, slope, place, width=width, depth=depth, settings=settings)
        faded.ravel()[place[pale]] = True
        clear = ~widened(soft > settings.ghost_pale * depth, square(7))  # of the rims of deep ink
        if np.count_nonzero(above & clear) > settings.ghost_matters * len(pale):
            faded |= above & _without_own_edge(soft, usual, low, width=width, depth=depth, settings=settings)
            faded |= _leftovers(above & clear & ~faded, faded)
        region[faded] = 0
    count, labels = cv2.connectedComponents(region, connectivity=8)
    if count == 1:
        return np.zeros_like(sheet), np.zeros_like(sheet)
    inside = np.flatnonzero(region)
    flat = np.asarray(labels.ravel()[inside], dtype=np.int64)
    deepest = np.zeros(count, np.float32)
    np.maximum.at(deepest, flat, soft.ravel()[inside])
    steepest = np.zeros(count, np.float32)
    np.maximum.at(steepest, flat, slope.ravel()[inside])
    size = np.bincount(flat, minlength=count)
    sure = deepest > settings.high_share * depth
    sharp = steepest / np.maximum(deepest, 1e-6)
    usual = float(np.median(sharp[sure])) if sure.any() else 0.0
    fair = ~sure & (deepest > settings.ghost_depth * depth) & (sharp > usual / settings.ghost_softness)
    is_ink = (sure | fair) & (size >= settings.speck_area)
    is_ghost = ~is_ink & (size >= settings.speck_area)
    ink = np.zeros(sheet.shape, bool)
    ink.ravel()[inside] = is_ink[flat]
    faded.ravel()[inside] = is_ghost[flat]
    return ink, faded


def _blurred(
    lost: Floats,
    soft: Floats,
    slope: Floats,
    place: NDArray[np.intp],
    *,
    width: float,
    depth: float,
    settings: Settings,
) -> tuple[NDArray[np.bool_], float]:
    """Return which pixels are pale, with no edge near by that is sharp for the deepest mark near by.

    Within half a stroke width of any ink, thinned or not, runs the outline of
    its stroke, as sharp as the lens allows; show-through has been blurred by
    the sheet it came through. The usual sharpness of the ink is returned too.
    """
    window = square(2 * round(width / 2 + 1) + 1)
    sharp = dilate(slope, window).ravel()[place] / np.maximum(dilate(soft, window).ravel()[place], 1e-6)
    here = lost.ravel()[place]
    deep = here > settings.soil_depth * depth
    if not deep.any():
        return np.zeros(len(here), bool), 0.0
    usual = float(np.median(sharp[deep]))
    return (sharp < usual / settings.ghost_softness) & (here < settings.ghost_pale * depth), usual


def _without_own_edge(
    soft: Floats, usual: float, low: float, *, width: float, depth: float, settings: Settings
) -> Mask:
    """Return pale pixels beside strokes whose own level is nowhere near reached by a sharp edge.

    With everything deeper cut down to a pixel's own level, the edge of the
    stroke beside it is gone, and only what bounds the pale mark itself is left:
    sharp for thinned ink, soft for show-through that runs up to a stroke.
    """
    window = square(2 * round(width / 2 + 1) + 1)
    out = np.zeros(soft.shape, bool)
    floor = low
    for level in np.linspace(low, settings.ghost_pale * depth, 4)[1:].tolist():
        cut = np.minimum(soft, np.float32(level))
        edge = dilate(_slope(cut), window)
        del cut
        out |= (soft > floor) & (soft <= level) & (edge < usual * level / settings.ghost_softness)
        floor = level
    return out


def _leftovers(clear: Mask, faded: Mask) -> Mask:
    """Return pieces of pale marks, clear of deep ink, that touch show-through: parts of it."""
    _, labels = cv2.connectedComponents(clear.astype(np.uint8), connectivity=8)
    touched = np.zeros(int(labels.max()) + 1, bool)
    touched[labels[dilate(faded.astype(np.uint8), square(3)) > 0]] = True
    touched[0] = False
    return np.asarray(touched[labels])


def _slope(lost: Floats) -> Floats:
    across = cv2.Sobel(lost, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    down = cv2.Sobel(lost, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    return np.asarray(cv2.magnitude(across, down, across), dtype=np.float32)  # in place: these are large
