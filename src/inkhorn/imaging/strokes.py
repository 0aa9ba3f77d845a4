"""Strokes one by one: centre line, width, raggedness, blur and more, from profiles across them."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from inkhorn.imaging.edges import LEAST_RATIO, Edges, find_edges, means, medians, raggedness
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import dilate, in_rows, inside_by, level_of, mostly, square, widened
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.thin import arms, skeleton
from inkhorn.imaging.widths import blur_of, width_of

Array = NDArray[np.float64]
#: From points (P, K, 2) x, y in px of the whole picture, and how many of the P each stroke has, to light over support (P, K, C).
Look = Callable[[Array, list[int]], Floats]


@attrs.frozen(kw_only=True, eq=False)
class Line:
    """The measured course of one stroke; definitions in `inkhorn.imaging.edges`.

    Attributes
    ----------
    points : ndarray (K, 2)
        x, y of the centre line, px of the whole picture.
    width, raggedness, blur : float
        px of the whole picture; NaN where no edge could be found. Medians along the stroke,
        where the standards have means, because strokes touch and cross.
    spread : float
        Standard deviation of the blur, px, its effect on the peak of a narrow stroke allowed for.
    skips : int
        Gaps along the stroke.
    density : ndarray (C,)
        Channel density of the ink left in the middle of the stroke; NaN if none is.
    darkness, contrast, fill : float
    pooling : float
        How much denser the darkest twentieth of the centre line is than its middle, relative.
    feathering : float
        How far the ink runs out beyond what blur does to the edge, px.
    """

    points: Array
    width: float
    raggedness: float
    blur: float
    spread: float
    skips: int
    density: Array
    darkness: float
    contrast: float
    fill: float
    pooling: float
    feathering: float


def usual_width(mask: Mask, depth: Floats | None = None) -> float:
    """Return the usual stroke width of a mask, px, from the distance transform on its ridge, `inside_by` if known.

    Odd widths come out exact, even ones a pixel low; 0 for an empty mask. Blots
    count little, because their ridge is short for their area.
    """
    depth = inside_by(mask) if depth is None else depth
    ridge = depth[(depth >= dilate(depth, square(3))) & mask]
    return float(2 * np.median(ridge) - 1) if ridge.size else 0.0


def over_support(picture: Picture, surface: Floats) -> Look:
    """Return a look at a whole picture, its support known at a smaller size."""
    by = np.array([picture.shape[1] / surface.shape[1], picture.shape[0] / surface.shape[0]])

    def look(at: Array, lengths: list[int]) -> Floats:
        light = picture.along(at, lengths)
        support = in_rows(surface, (at[:, at.shape[1] // 2] + 0.5) / by - 0.5)[:, None]
        return np.asarray(light / np.maximum(support, np.float32(1e-6)), dtype=np.float32)

    return look


def lines(
    mask: Mask,
    ink: Mask,
    lost: Floats,
    width: float,
    settings: Settings,
    *,
    look: Look | None = None,
    by: float = 1,
) -> tuple[Line, ...]:
    """Measure the longest strokes of an envelope.

    Parameters
    ----------
    mask : ndarray of bool (H, W)
        Stroke area, worn gaps filled.
    ink : ndarray of bool (H, W)
        The part of it where ink is left.
    lost : ndarray float32 (H, W)
        Share of light lost.
    width : float
        Usual width, px.
    look : callable, optional
        Sees the picture finer than ``lost``, which then only shows where the strokes run.
    by : float
        Pixels of the whole picture per pixel of the masks.
    """
    shrink = max(1.0, width / settings.gap_width)
    height, across = mask.shape
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    scale = np.array([across / size[0], height / size[1]]) * by
    least = settings.stroke_length * width / shrink
    wide = width * by
    apart = max(1.0, wide / settings.station_share)
    paths = [
        _even((path + 0.5) * scale - 0.5, apart)
        for path in branches(skeleton(mostly(mask, size)), least, int(settings.strokes_most))
    ]
    if not paths:
        return ()
    return _measured(paths, ink, look or _seen(lost), wide, by, settings)


def _seen(lost: Floats) -> Look:
    return lambda at, _: 1 - in_rows(lost[..., None], at.reshape(-1, 2)).reshape(*at.shape[:2], 1)


def branches(bones: Mask, least: float, most: int) -> list[Array]:
    """Return the longest branches of a skeleton between its crossings as ordered x, y paths."""
    crossings = widened(arms(bones) >= 3, square(3))
    found, _ = cv2.findContours((bones & ~crossings).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    # the outline of a line one px wide runs along it and back
    long = [
        np.asarray(outline[:, 0], dtype=np.int32)
        for outline in found
        if len(outline) >= 2 * max(4, least) - 2
    ]
    long.sort(key=lambda outline: -len(outline))
    return [_there(outline).astype(np.float64) for outline in long[:most]]


def _there(outline: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return the way along a line from an outline that runs there and back; a closed ring as it is."""
    turns = (np.roll(outline, 1, axis=0) == np.roll(outline, -1, axis=0)).all(axis=1)
    if not turns.any():
        return outline
    return np.roll(outline, -int(turns.argmax()), axis=0)[: len(outline) // 2 + 1]


def _even(points: Array, apart: float) -> Array:
    """Smooth a path and sample it evenly, about ``apart`` px."""
    smooth = ndimage.gaussian_filter1d(points, 2, axis=0, mode="nearest")
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(smooth, axis=0).T))])
    stations = np.linspace(0, along[-1], max(4, round(along[-1] / apart)))
    return np.column_stack([np.interp(stations, along, smooth[:, i]) for i in (0, 1)])


def _measured(
    paths: list[Array], ink: Mask, look: Look, width: float, by: float, settings: Settings
) -> tuple[Line, ...]:
    step = max(0.5, width / settings.profile_share)
    reach = int(np.ceil((width + 4) / step))
    offsets = np.asarray(np.arange(-reach, reach + 1) * step, dtype=np.float64)
    middle = np.abs(offsets) <= max(1, width / 4)
    tangent = np.concatenate([np.gradient(points, axis=0) for points in paths])
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-6)[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    at = np.concatenate(paths)[:, None, :] + offsets[None, :, None] * normal[:, None, :]
    x, y = np.rint((at[:, middle] + 0.5) / by - 0.5).astype(int).transpose(2, 0, 1)
    here = (x >= 0) & (y >= 0) & (x < ink.shape[1]) & (y < ink.shape[0])
    present = (here & ink[np.where(here, y, 0), np.where(here, x, 0)]).any(axis=1)
    lengths = [len(points) for points in paths]
    group = np.repeat(np.arange(len(paths)), lengths)
    ratio = look(at, lengths)
    edges = find_edges(1 - level_of(ratio), offsets, present, settings)
    apart = max(1.0, width / settings.station_share)
    reach = max(4, round(width / apart))
    return _gathered(paths, group, edges, ratio[:, middle], present, reach, settings)


def _gathered(
    paths: list[Array],
    group: NDArray[np.int64],
    edges: Edges,
    core: Floats,
    present: Mask,
    reach: int,
    settings: Settings,
) -> tuple[Line, ...]:
    """Gather stations by stroke."""
    n = len(paths)
    both = np.isfinite(edges.outline).all(axis=1)
    enough = np.bincount(group, both, n) >= 4
    width = medians(edges.outline[:, 1] - edges.outline[:, 0], group, n)
    ragged = raggedness(edges.outline, group, n, reach)
    blur, beyond = medians(edges.blur, group, n), medians(edges.beyond, group, n)
    spread, width = blur_of(width, blur, settings), width_of(width, blur, settings)
    level = core.astype(np.float64).mean(axis=1)
    light = np.column_stack([means(np.where(present, channel, np.nan), group, n) for channel in level.T])
    along = np.where(present, -np.log10(np.maximum(level.mean(axis=1), LEAST_RATIO)), np.nan)
    rank = [means(part, group, n) for part in (edges.darkness, edges.contrast, edges.fill)]
    pooling = _upper(along, group, n) / np.maximum(medians(along, group, n), 1e-6) - 1
    # a gap counts where ink ends and begins again within the same stroke
    falls = np.flatnonzero(present[:-1] & ~present[1:] & (group[:-1] == group[1:]))
    last = np.full(n, -1)
    np.maximum.at(last, group[present], np.flatnonzero(present))
    skips = np.bincount(group[falls][falls < last[group[falls]]], minlength=n)
    usable = enough & np.isfinite(blur)
    hidden = np.where(usable, 1.0, np.nan)
    return tuple(
        Line(
            points=points,
            width=float(width[k] * hidden[k]),
            raggedness=float(ragged[k] * hidden[k]),
            blur=float(blur[k] * hidden[k]),
            spread=float(spread[k] * hidden[k]),
            skips=int(skips[k]),
            density=-np.log10(np.maximum(light[k], LEAST_RATIO)),
            darkness=float(rank[0][k]),
            contrast=float(rank[1][k]),
            fill=float(rank[2][k]),
            pooling=float(pooling[k]),
            feathering=float(max(0.0, beyond[k])) if np.isfinite(beyond[k]) else float("nan"),
        )
        for k, points in enumerate(paths)
    )


def _upper(values: Array, group: NDArray[np.int64], groups: int) -> Array:
    """Return the value that a twentieth of each group exceeds; NaN for one without a known value."""
    known = np.isfinite(values)
    values, group = values[known], group[known]
    order = np.lexsort((values, group))
    count = np.bincount(group, minlength=groups)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    out = np.full(groups, np.nan)
    some = count > 0
    # numbers-in-code: the twentieth of the docstring
    out[some] = values[order][first[some] + (count[some] - 1) * 19 // 20]
    return out
