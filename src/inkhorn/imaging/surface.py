"""The bare support under and between the strokes, as a surface in linear light."""

from __future__ import annotations

import cv2
import numpy as np

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import (
    area,
    area_share,
    closed,
    disc,
    erode,
    gauss,
    grown,
    level_of,
    mostly,
    square,
    stretch,
)
from inkhorn.imaging.settings import Settings


def first_surface(small: Floats, outside: Mask, settings: Settings) -> Floats:
    """Return a first bare-support surface, float32 (H, W, 3), from light averaged down to `pixels.coarse_size` of ``outside``.

    Tiles vote with a high share of their values (ink is darker than what it
    lies on), the votes are smoothed, and pixels that then stand out as darker
    or brighter than their neighbours are left out of a masked mean.
    """
    height, width = outside.shape
    size = small.shape[1::-1]
    inside = area_share(~outside, size) > 1 - 1e-6
    surface = _voted(small, inside, settings)
    for _ in range(2):
        ratio = level_of(np.divide(small, np.maximum(surface, 1e-6), dtype=np.float32))
        away = np.abs(ratio - 1)
        spread = spread_of(ratio[inside]) if inside.any() else 1.0
        bare = inside & (away < max(settings.bare_band * spread, settings.least_contrast / 2))
        bare = erode(bare.astype(np.uint8), square(3)) > 0
        surface = masked_mean(small, bare, max(size) / 12, surface)
    return stretch(surface, (width, height))


def closed_surface(linear: Floats, sheet: Mask, width: float, settings: Settings) -> Floats:
    """Return the support as the light with everything as narrow as a stroke filled up, float32 (H, W, 3).

    A grey closing with a disc wider than a stroke lifts strokes to the level
    of what lies beside them and follows soiled patches that are wider. It is
    taken a little bright by noise, so it serves to find ink, not to measure it.
    """
    height, across = linear.shape[:2]
    shrink = max(1.0, width / 3)
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    small = gauss(area(linear, size), 0.5)
    small[~(area_share(sheet, size) > 1 - 1e-6)] = 0
    side = 2 * max(2, round(settings.closing_reach * width / shrink / 2)) + 1
    smooth = gauss(closed(small, disc(side)), side / 4)
    return np.maximum(stretch(smooth, (across, height)), np.float32(1e-4))


def near_surface(linear: Floats, bare: Mask, reach: float, fallback: Floats) -> Floats:
    """Return the support from the bare pixels within about ``reach`` px, on a grid of a quarter of it.

    Averages run in linear light over bare pixels only, so that a stain or a
    shadow beside a stroke is part of its support. The grid spans the picture;
    `stretch` or `lost_light` bring it to any size.
    """
    height, width = linear.shape[:2]
    shrink = max(1.0, reach / 4)
    size = (max(1, round(width / shrink)), max(1, round(height / shrink)))
    kept = np.asarray(cv2.bitwise_and(linear, linear, mask=bare.astype(np.uint8)), dtype=np.float32)
    share = area(bare.astype(np.float32), size)
    light = area(kept, size)
    back = area(fallback, size)
    sigma = reach / shrink
    smooth = gauss(light, sigma)
    amount = gauss(share, sigma)[..., None]
    far_light, far_amount = gauss(light, 4 * sigma), gauss(share, 4 * sigma)[..., None]
    trust = 0.1 * np.minimum(1, far_amount)  # where little is bare nearby, look further away
    surface = (smooth + trust * far_light + 1e-6 * back) / (amount + trust * far_amount + 1e-6)
    return np.maximum(surface.astype(np.float32), np.float32(1e-6))


def over_edges(linear: Floats, bare: Mask, steep: Mask, close: Floats, reach: float, plain: Floats) -> Floats:
    """Return the support where near sharp edges of shadow it must follow them, float32 (H, W, 3).

    Means over ``reach`` px blur such an edge. There ``close``, the closed
    surface, gives the course, and the mean of light over it, over bare pixels
    near by, the level; farther off ``plain`` (a grid from `near_surface`) stays.
    """
    size = steep.shape[::-1]
    over = np.asarray(cv2.divide(linear, close), dtype=np.float32)
    ratio = near_surface(over, bare, reach, plain / area(close, plain.shape[1::-1]))
    near = gauss(grown(steep, 2 * reach).astype(np.float32), reach / 2)
    x, y, width, height = cv2.boundingRect((near > 0).astype(np.uint8))
    box = np.s_[y : y + height, x : x + width]
    out = stretch(plain, size)
    smooth, level = out[box], close[box] * stretch(ratio, size)[box]
    out[box] = np.maximum(smooth + near[box][..., None] * (level - smooth), np.float32(1e-6))
    return out


def masked_mean(light: Floats, use: Mask, sigma: float, fallback: Floats) -> Floats:
    """Return the Gaussian mean of ``light`` over the pixels in ``use``; fallback where there are none."""
    weight = use.astype(np.float32)
    held = np.asarray(cv2.bitwise_and(light, light, mask=use.view(np.uint8)), dtype=np.float32)
    height, width = use.shape
    # a mean over many px is as good on a grid of an eighth of them
    size = (max(1, round(8 * width / sigma)), max(1, round(8 * height / sigma)))
    if sigma > 16 and min(size) > 1:
        share, held = size[0] / width, area(held, size)
        top = stretch(gauss(held, sigma * share), (width, height))
        amount = stretch(gauss(area(weight, size), sigma * share), (width, height))[..., None]
    else:
        top, amount = gauss(held, sigma), gauss(weight, sigma)[..., None]
    return np.asarray((top + np.float32(1e-5) * fallback) / (amount + np.float32(1e-5)), dtype=np.float32)


def tile_votes(small: Floats, inside: Mask, settings: Settings) -> Floats:
    """Return a high share of the light of each tile, (down, across, 3); NaN where little of it is sheet."""
    height, width = small.shape[:2]
    # numbers-in-code: tiles along the longer side
    side = max(2, round(max(height, width) / 24))
    down, across = max(1, height // side), max(1, width // side)
    size = (across * side, down * side)
    if (width, height) != size:
        small = np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
        inside = mostly(inside, size)
    keep = np.s_[:: max(1, side // 12)]  # a share needs no more than some hundred pixels
    light = small.reshape(down, side, across, side, 3)[:, keep][:, :, :, keep]
    known = inside.reshape(down, side, across, side)[:, keep][:, :, :, keep]
    light = light.transpose(0, 2, 1, 3, 4).reshape(down, across, -1, 3)
    known = known.transpose(0, 2, 1, 3).reshape(down, across, -1)
    ordered = np.sort(np.where(known[..., None], light, np.inf), axis=2)
    count = known.sum(axis=2)
    place = np.minimum(np.maximum(0, settings.tile_share * (count - 1)).astype(int), known.shape[2] - 1)
    votes = np.take_along_axis(ordered, place[..., None, None], axis=2)[:, :, 0]
    return np.asarray(np.where((count > 8)[..., None], votes, np.nan), dtype=np.float32)


def _voted(small: Floats, inside: Mask, settings: Settings) -> Floats:
    height, width = small.shape[:2]
    votes = tile_votes(small, inside, settings)
    known = np.isfinite(votes[..., 0])
    if not known.any():
        return np.broadcast_to(small.reshape(-1, 3).max(axis=0), small.shape).astype(np.float32)
    level = np.median(votes[known], axis=0).astype(np.float32)
    filled = np.where(known[..., None], votes, level)
    smooth = masked_mean(filled, known, 1.0, np.broadcast_to(level, filled.shape))
    return np.asarray(cv2.resize(smooth, (width, height), interpolation=cv2.INTER_CUBIC), dtype=np.float32)


def spread_of(values: Floats) -> float:
    """Return a robust standard deviation, 1.4826 times the median distance from the median."""
    # numbers-in-code: a spread needs no more than some ten thousand pixels
    sample = values[:: max(1, values.size // 20_000)]
    middle = np.median(sample)
    # numbers-in-code: 1/Phi^-1(3/4), normal distribution
    return float(1.4826 * np.median(np.abs(sample - middle)))
