"""Wide patches of ink, as a dipped strip or a fallen drop leaves them, told from stains and shadows."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import dilate, disc, erode, gauss, level_of, opened, square
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.surface import tile_votes

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Patches:
    """Wide dark regions with sharp edges.

    Attributes
    ----------
    mask : ndarray of bool (H, W)
    lost : float
        Median share of light lost in them against what lies round them.
    """

    mask: Mask
    lost: float


def find_patches(small: Floats, inside: Mask, settings: Settings) -> Patches | None:
    """Return regions much wider than they are blurred that are darker than what lies round them, or None.

    Ink ends within the blur of the lens; a shadow, a cockle of the sheet and most
    stains fade over many times that. Deep patches stand out from an even
    support, a parabola of log light over the sheet; pale ones, no deeper than the
    sheet's own clouds, are even areas shut off from the rest by an edge.

    Parameters
    ----------
    small : ndarray (H, W, 3)
        Linear light, reduced to about `Settings.coarse_side`.
    inside : ndarray of bool (H, W)
        The sheet.
    """
    light = np.log10(np.maximum(gauss(level_of(small), 1), np.float32(1e-4)))
    reach = max(3, round(settings.patch_side * max(small.shape[:2])))
    change = dilate(light, square(5)) - erode(light, square(5))
    well_inside = erode(inside.astype(np.uint8), square(9)) > 0
    if not well_inside.any():
        return None
    usual = float(np.median(change[well_inside]))
    found = []
    for band in (
        settings.bare_band,
        2 * settings.bare_band,
    ):  # a faint edge is open at the second, texture shut at the first
        even = inside & (change < band * usual)
        found += _tested(even, light, change, well_inside, reach - 4, settings)
    support = _even_light(small, inside, settings)
    if support is not None:
        deep = inside & (support - light > 5 * settings.patch_least)
        found += _tested(deep, light, change, well_inside, reach, settings)
    if not found:
        return None
    out = np.zeros(inside.shape, bool)
    for box, one, _ in found:
        out[box] |= one
    steps, sizes = np.array([(step, np.count_nonzero(one)) for _, one, step in found]).T
    return Patches(mask=out, lost=float(1 - 10 ** -np.average(steps, weights=sizes)))


Found = tuple[tuple[slice, slice], Mask, float]


def _tested(
    region: Mask, light: Floats, change: Floats, inside: Mask, reach: int, settings: Settings
) -> list[Found]:
    """Return box, mask and density of the wide pieces of a region that end as sharply as ink does."""
    wide = opened(region.astype(np.uint8), disc(2 * (max(3, reach) // 2) + 1))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(wide, connectivity=4)
    sizes = stats[:, cv2.CC_STAT_AREA].copy()
    sizes[0] = 0
    sizes[sizes > inside.size / 2] = 0
    out = []
    # numbers-in-code: more patches than a picture of a trial has
    for k in np.argsort(-sizes, kind="stable")[:12].tolist():
        if not sizes[k]:
            break
        x, y, across, down = stats[k, :4].tolist()
        edge = 2 * 12
        box = np.s_[max(0, y - edge) : y + down + edge, max(0, x - edge) : x + across + edge]
        one = _grown(labels[box] == k, light[box])
        step = _step(one, inside[box], light[box], change[box], settings)
        if step:
            out.append((box, one, step))
    return out


def _grown(one: Mask, light: Floats) -> Mask:
    """Let a piece grow by a few px over what is as dark as itself, to the middle of its edge."""
    grid = one.astype(np.uint8)
    near = dilate(grid, disc(11)) > 0
    beyond = near & ~(dilate(grid, disc(9)) > 0)
    if not beyond.any():
        return one
    middle = (np.median(light[one]) + np.median(light[beyond])) / 2
    return np.asarray(one | ((dilate(grid, disc(9)) > 0) & (light < middle)))


def _step(one: Mask, inside: Mask, light: Floats, change: Floats, settings: Settings) -> float:
    """Return how much denser a region is than what lies round it, or 0 if its edge is soft."""
    grid = one.astype(np.uint8)
    rim = (dilate(grid, square(5)) - erode(grid, square(5))) > 0
    ring = (dilate(grid, disc(11)) > 0) & ~(dilate(grid, square(7)) > 0) & inside
    inner, seen = one & ~rim, rim & inside
    # most of its edge must be seen against the sheet, not against what lies round the sheet
    if not ring.any() or not inner.any() or 2 * np.count_nonzero(seen) < np.count_nonzero(rim):
        return 0.0
    step = float(np.median(light[ring]) - np.median(light[inner]))
    sharp = float(np.median(change[seen]))
    return step if step > settings.patch_least and sharp > settings.patch_sharp * step else 0.0


def _even_light(small: Floats, inside: Mask, settings: Settings) -> Floats | None:
    """Fit a parabola to the log light of the brighter tiles; return it per pixel."""
    votes = tile_votes(small, inside, settings)
    known = np.isfinite(votes[..., 0])
    if np.count_nonzero(known) < 12:
        return None
    rows, columns = np.nonzero(known)
    level = np.log10(np.maximum(votes[known].mean(axis=1), 1e-4)).astype(np.float64)
    basis = _basis(columns / known.shape[1] * 2 - 1, rows / known.shape[0] * 2 - 1)
    weight, spread, fit = np.ones(len(level)), 1.0, level
    for _ in range(12):
        held = basis * weight[:, None]
        # a little of a ridge: a few bright tiles must not bend the parabola where there are none
        curve = np.linalg.solve(held.T @ basis + 0.01 * np.eye(6) * weight.sum(), held.T @ level)
        fit = basis @ curve
        away = level - fit
        spread = (
            float(1.4826 * np.median(np.abs(away[away > 0]))) if (away > 0).any() else 0.0
        )  # numbers-in-code: 1/Phi^-1(3/4)
        spread = max(spread, settings.patch_least / 4)
        # what is darker than the rest is no witness of the support
        weight = np.where(away > 0, 1, 1 / (1 + (away / spread) ** 2) ** 2)
    height, width = inside.shape
    x, y = np.meshgrid((np.arange(width) + 0.5) / width * 2 - 1, (np.arange(height) + 0.5) / height * 2 - 1)
    surface = (_basis(x.ravel(), y.ravel()) @ curve).reshape(height, width)
    return surface.astype(np.float32)


def _basis(x: Array, y: Array) -> Array:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
