"""Which pixels may be ink: darkness against the bare support, with two thresholds."""

from __future__ import annotations

import cv2
import numpy as np

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import dilate, gauss, square
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.surface import spread_of


def lost_light(linear: Floats, surface: Floats) -> Floats:
    """Return the share of light that the ink takes away, 1 - ink/support, float32 (H, W).

    The mean over channels of the ratio to the support; linear, so that blur
    and half-covered pixels mix in proportion.
    """
    out = np.zeros(linear.shape[:2], np.float32)
    for channel in range(3):
        out += linear[..., channel] / np.maximum(surface[..., channel], 1e-6)
    return np.asarray(1 - out / 3, dtype=np.float32)


def noise_of(lost: Floats, sheet: Mask) -> float:
    """Return the spread of bare support: the lower half of the lost light, about its mode."""
    sample = lost[sheet]
    sample = sample[:: max(1, sample.size // 10**6)]
    # numbers-in-code: bins of a histogram
    counts, edges = np.histogram(sample, bins=200, range=(-0.5, 0.5))
    smooth = np.convolve(counts, np.ones(5) / 5, mode="same")
    mode = float(edges[np.argmax(smooth)] + edges[1] - edges[0])
    below = sample[sample <= mode]
    if not below.size:
        return spread_of(sample)
    # numbers-in-code: Phi^-1(3/4), the median distance from the mode of a normal distribution, in its sd
    return float(max(1e-3, np.median(mode - below) / 0.6745))


def depth_of(lost: Floats, sheet: Mask, noise: float, settings: Settings) -> float:
    """Return the lost light of the darker part of the ink, or 0 if nothing stands out.

    The values above the noise are split in two by Otsu's criterion [OTSU] (the darker
    part is strokes, the paler one edges, thinned ink, ruling, show-through);
    the median of the darker part is returned.
    """
    least = max(settings.least_contrast, settings.noise_steps * noise)
    above = lost[sheet & (lost > least)]
    if above.size < settings.core_few / 2 or np.ptp(above) < 1e-6:
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
    faded = (
        above & _blurred(lost, soft, slope, width=width, depth=depth, settings=settings)
        if width
        else np.zeros_like(sheet)
    )
    region = (above & ~faded).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(region, connectivity=8)
    if count == 1:
        return np.zeros_like(sheet), np.zeros_like(sheet)
    deepest = np.zeros(count, np.float32)
    inside = labels > 0
    flat = np.asarray(labels[inside], dtype=np.intp)
    np.maximum.at(deepest, flat, soft[inside])
    steepest = np.zeros(count, np.float32)
    np.maximum.at(steepest, flat, slope[inside])
    size = np.asarray(stats)[:, cv2.CC_STAT_AREA]
    sure = deepest > settings.high_share * depth
    sharp = steepest / np.maximum(deepest, 1e-6)
    usual = float(np.median(sharp[sure])) if sure.any() else 0.0
    pale = ~sure & (deepest > settings.ghost_depth * depth) & (sharp > usual / settings.ghost_softness)
    ink = (sure | pale) & (size >= settings.speck_area)
    ink[0] = False
    ghost = ~ink & (size >= settings.speck_area)
    ghost[0] = False
    return ink[labels], ghost[labels] | faded


def _blurred(
    lost: Floats, soft: Floats, slope: Floats, *, width: float, depth: float, settings: Settings
) -> Mask:
    """Return pale pixels with no edge near by that is sharp for the deepest mark near by.

    Within half a stroke width of any ink, thinned or not, runs the outline of
    its stroke, as sharp as the lens allows; show-through has been blurred by
    the sheet it came through.
    """
    side = 2 * round(width / 2 + 1) + 1
    window = square(side)
    sharp = dilate(slope, window) / np.maximum(dilate(soft, window), 1e-6)
    deep = lost > settings.soil_depth * depth
    if not deep.any():
        return np.zeros(lost.shape, bool)
    usual = float(np.median(sharp[deep]))
    return np.asarray((sharp < usual / settings.ghost_softness) & (lost < settings.ghost_pale * depth))


def _slope(lost: Floats) -> Floats:
    across = cv2.Sobel(lost, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    down = cv2.Sobel(lost, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    return np.asarray(cv2.magnitude(across, down), dtype=np.float32)
