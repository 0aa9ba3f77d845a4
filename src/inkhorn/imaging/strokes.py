"""Strokes one by one: centre line, width, raggedness, blur and skips from profiles across them.

After ISO/IEC 13660 in the choice of levels, not conforming to it: edges are
taken where 60 % of the way from support to ink is reached back from the
support (R60), blur between the 10 % and 90 % levels.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import area_share, dilate, inside_by, sampled, square, widened
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.thin import arms, skeleton

_STEP = 0.5  # px between samples of a profile


@attrs.frozen(kw_only=True, eq=False)
class Line:
    """The measured course of one stroke.

    Attributes
    ----------
    points : ndarray (K, 2)
        x, y of the centre line, px, about one px apart.
    width, raggedness, blur : float
        Medians along the stroke, px; NaN where no edge could be found.
    skips : int
        Gaps along the stroke.
    """

    points: NDArray[np.float64]
    width: float
    raggedness: float
    blur: float
    skips: int


def usual_width(mask: Mask) -> float:
    """Return the usual stroke width of a mask, px, from the distance transform on its ridge.

    Odd widths come out exact, even ones a pixel low; 0 for an empty mask. Blots
    count little, because their ridge is short for their area.
    """
    depth = inside_by(mask)
    ridge = depth[(depth >= dilate(depth, square(3))) & mask]
    return float(2 * np.median(ridge) - 1) if ridge.size else 0.0


def lines(mask: Mask, ink: Mask, lost: Floats, width: float, settings: Settings) -> tuple[Line, ...]:
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
    """
    shrink = max(1.0, width / settings.gap_width)
    height, across = mask.shape
    size = (max(1, round(across / shrink)), max(1, round(height / shrink)))
    small = area_share(mask, size) >= 0.5
    scale = np.array([across / size[0], height / size[1]])
    out = []
    for path in branches(
        skeleton(small), settings.stroke_length * width / shrink, int(settings.strokes_most)
    ):
        points = (path + 0.5) * scale - 0.5
        out.append(_measure(_even(points), ink, lost, width, settings))
    return tuple(out)


def branches(lines_mask: Mask, least: float, most: int) -> list[NDArray[np.float64]]:
    """Return the longest branches of a skeleton between its crossings as ordered x, y paths."""
    count = arms(lines_mask)
    crossings = widened(count >= 3, square(3))
    pieces = lines_mask & ~crossings
    labels, found = ndimage.label(pieces, structure=np.ones((3, 3)))
    if not found:
        return []
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    chosen = [k for k in np.argsort(-sizes, kind="stable")[:most] if sizes[k] >= max(4, least)]
    boxes = ndimage.find_objects(labels)
    return [_ordered(labels, boxes[k - 1], int(k)) for k in chosen if boxes[k - 1]]


def _ordered(labels: NDArray[np.int32], box: tuple[slice, slice], k: int) -> NDArray[np.float64]:
    rows, columns = np.nonzero(labels[box] == k)
    left = set(zip(rows.tolist(), columns.tolist(), strict=True))
    around = [(-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1)]

    def degree(p: tuple[int, int]) -> int:
        return sum((p[0] + a, p[1] + b) in left for a, b in around)

    first = min(left)
    here = next((p for p in sorted(left) if degree(p) == 1), first)  # a closed ring starts anywhere
    path = [here]
    left.discard(here)
    while left:
        step = next(
            ((here[0] + a, here[1] + b) for a, b in around if (here[0] + a, here[1] + b) in left), None
        )
        if step is None:
            break
        path.append(step)
        left.discard(step)
        here = step
    y, x = np.array(path, dtype=np.float64).T
    return np.column_stack([x + box[1].start, y + box[0].start])


def _even(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Smooth a path and sample it about one px apart."""
    smooth = ndimage.gaussian_filter1d(points, 2, axis=0, mode="nearest")
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(smooth, axis=0).T))])
    keep = np.concatenate([[True], np.diff(along) > 0])
    stations = np.linspace(0, along[-1], max(4, round(along[-1])))
    return np.column_stack([np.interp(stations, along[keep], smooth[keep, i]) for i in (0, 1)])


def _measure(points: NDArray[np.float64], ink: Mask, lost: Floats, width: float, settings: Settings) -> Line:
    tangent = np.gradient(points, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-6)[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    half = width + 4
    offsets = np.arange(-half, half + _STEP / 2, _STEP)
    at = points[:, None, :] + offsets[None, :, None] * normal[:, None, :]
    profile = sampled(lost, at)
    middle = np.abs(offsets) <= max(1, width / 4)
    x, y = np.rint(at[:, middle]).astype(int).transpose(2, 0, 1)
    here = (x >= 0) & (y >= 0) & (x < ink.shape[1]) & (y < ink.shape[0])
    present: Mask = (here & ink[np.where(here, y, 0), np.where(here, x, 0)]).any(axis=1)
    skips = int(np.count_nonzero(np.diff(present.astype(int)) == -1) - (not present[-1]))
    edges, blur = _edges(profile, offsets, present, settings)
    if np.isfinite(edges).all(axis=1).sum() < 4 or not np.isfinite(blur).any():
        return Line(points=points, width=np.nan, raggedness=np.nan, blur=np.nan, skips=max(0, skips))
    wide = edges[:, 1] - edges[:, 0]
    return Line(
        points=points,
        width=float(np.nanmedian(wide)),
        raggedness=_raggedness(edges),
        blur=float(np.nanmedian(blur)),
        skips=max(0, skips),
    )


def _edges(
    profile: Floats, offsets: NDArray[np.float64], present: Mask, settings: Settings
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return R60 crossings left and right (K, 2) and the mean 10-90 distance (K,), px; NaN if not found."""
    centre = len(offsets) // 2
    near = np.abs(offsets) <= 1
    top = profile[:, near].max(axis=1)
    found = []
    for share in (settings.edge_level, settings.edge_outer, settings.edge_inner):
        level = share * top
        sides = []
        for direction in (-1, 1):
            half = profile[:, centre::direction]
            below = half < level[:, None]
            first = below.argmax(axis=1)
            ok = below.any(axis=1) & (first > 0) & present
            i = np.maximum(first, 1)
            rows = np.arange(len(profile))
            high, low = half[rows, i - 1], half[rows, i]
            part = (high - level) / np.maximum(high - low, 1e-6)
            sides.append(np.where(ok, direction * (i - 1 + np.clip(part, 0, 1)) * _STEP, np.nan))
        found.append(np.column_stack(sides))
    outline, outer, inner = found
    blur = np.abs(outer - inner)
    with np.errstate(all="ignore"):
        mean = np.where(
            np.isfinite(blur).any(axis=1), np.nansum(blur, axis=1) / np.isfinite(blur).sum(axis=1), np.nan
        )
    return outline + offsets[centre], mean


def _raggedness(edges: NDArray[np.float64]) -> float:
    """Return the spread of the edges about their own smooth course, px (mean of both sides)."""
    spreads = []
    for side in edges.T:
        known = side[np.isfinite(side)]
        if len(known) >= 8:
            course = ndimage.gaussian_filter1d(known, 4, mode="nearest")
            spreads.append(float(np.std(known - course)))
    return float(np.mean(spreads)) if spreads else float("nan")
