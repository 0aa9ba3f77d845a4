"""Measures of a stroke from profiles across it: outline, blur, raggedness, darkness, fill, spread of ink.

With R_p = Rmax - (p/100) (Rmax - Rmin), Rmax the light of the bare support and
Rmin that of the darkest part of the line, the levels and attributes follow
ISO/IEC 13660:2001 and its successor ISO/IEC 24790:2017 *as they are widely
quoted*; their text was not read, clause numbers are therefore not given, and
nothing here conforms to them. A pen stroke is no printed test line: it bends,
wears and fades, so Rmin is taken afresh at every station along it.

=============  ================================================================
outline        the two R60 contours along the normal; their mean distance is the
               width of 13660. A stroke's width as answered is that between the
               places of half the light: `inkhorn.imaging.widths`
blur           mean distance from R10 outside to R90 inside, mean of both edges
               (13660; 24790 stops at R70 and divides by the root of darkness)
raggedness     standard deviation of the R60 contour about its fitted line,
               mean of both edges (13660); the line is a running parabola
darkness       mean optical density inside the R25 contours; mean of logarithms
contrast       (Rmax - R)/Rmax inside the R25 contours
fill           share inside the R60 contours that is darker than R75
=============  ================================================================
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.settings import Settings

Array = NDArray[np.float64]
LEAST_RATIO = 1e-3  # a ratio to the support below this cannot be told from none: density 3


@attrs.frozen(kw_only=True, eq=False)
class Edges:
    """What each station along the strokes shows; NaN where an edge is not found.

    Attributes
    ----------
    outline : ndarray (P, 2)
        Offsets of the R60 contour to the left and right of the centre line, px.
    blur, blur70 : ndarray (P,)
        Distance from R10 to R90, and to R70, mean of both sides, px.
    beyond : ndarray (P,)
        How much further R10 lies outside R60 than a normal edge as blurred inside R60 has it, px.
    darkness, contrast, fill : ndarray (P,)
    """

    outline: Array
    blur: Array
    blur70: Array
    beyond: Array
    darkness: Array
    contrast: Array
    fill: Array


def find_edges(lost: Floats, offsets: Array, present: Mask, settings: Settings) -> Edges:
    """Return the edges of profiles.

    Parameters
    ----------
    lost : ndarray (P, K)
        Share of the support's light lost, along the normal at each station.
    offsets : ndarray (K,)
        Distances from the centre line, px, evenly spaced and 0 in the middle.
    present : ndarray of bool (P,)
        False where there is no ink at the centre.
    """
    centre, step = len(offsets) // 2, float(offsets[1] - offsets[0])
    near = np.abs(offsets) <= np.maximum(1, step)
    top = lost[:, near].max(axis=1)
    level = {
        name: _crossings(lost, share * top, present, centre, step)
        for name, share in (
            ("outline", settings.edge_level),
            ("outer", settings.edge_outer),
            ("inner", settings.edge_inner),
            ("inner70", settings.edge_inner70),
            ("line", settings.edge_line),
        )
    }
    outline, inner = level["outline"], level["inner"]
    rise = np.abs(outline - inner)
    # a normal edge: R10 to R60 over R60 to R90, from the quantiles of the normal distribution
    outer_part = ndtri(1 - settings.edge_outer) + ndtri(settings.edge_level)
    inner_part = ndtri(settings.edge_inner) - ndtri(settings.edge_level)
    beyond = np.abs(level["outer"] - outline) - outer_part / inner_part * rise
    line = (offsets >= level["line"][:, :1]) & (offsets <= level["line"][:, 1:])
    within = (offsets >= outline[:, :1]) & (offsets <= outline[:, 1:])
    dark = lost >= settings.edge_fill * top[:, None]
    return Edges(
        outline=outline,
        blur=_mean(np.abs(level["outer"] - inner)),
        blur70=_mean(np.abs(level["outer"] - level["inner70"])),
        beyond=_mean(beyond),
        darkness=_over(-np.log10(np.maximum(1 - lost, LEAST_RATIO)), line),
        contrast=_over(lost, line),
        fill=_over(dark, within),
    )


def _crossings(lost: Floats, level: Floats, present: Mask, centre: int, step: float) -> Array:
    """Return where the profile first falls below a level, left and right of the centre (P, 2), px."""
    sides = []
    rows = np.arange(len(lost))
    for direction in (-1, 1):
        half = lost[:, centre::direction]
        below = half < level[:, None]
        first = below.argmax(axis=1)
        i = np.maximum(first, 1)
        high, low = half[rows, i - 1], half[rows, i]
        part = (high - level) / np.maximum(high - low, 1e-6)
        found = below[rows, first] & (first > 0) & present
        sides.append(np.where(found, direction * (i - 1 + np.clip(part, 0, 1)) * step, np.nan))
    return np.column_stack(sides).astype(np.float64)


def _mean(both: Array) -> Array:
    """Return the mean of what is known of two sides; NaN where neither is."""
    known = np.isfinite(both)
    count = known.sum(axis=1)
    return np.where(count > 0, np.where(known, both, 0).sum(axis=1) / np.maximum(1, count), np.nan)


def _over(values: NDArray[np.generic], where: Mask) -> Array:
    count = where.sum(axis=1)
    return np.where(count > 0, np.where(where, values, 0).sum(axis=1) / np.maximum(1, count), np.nan)


def medians(values: Array, group: NDArray[np.int64], groups: int) -> Array:
    """Return the median of each group, NaN for one without a known value."""
    known = np.isfinite(values)
    values, group = values[known], group[known]
    order = np.lexsort((values, group))
    values = values[order]
    count = np.bincount(group, minlength=groups)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    out = np.full(groups, np.nan)
    some = count > 0
    low, high = first[some] + (count[some] - 1) // 2, first[some] + count[some] // 2
    out[some] = (values[low] + values[high]) / 2
    return out


def means(values: Array, group: NDArray[np.int64], groups: int) -> Array:
    """Return the mean of each group, NaN for one without a known value."""
    known = np.isfinite(values)
    count = np.bincount(group[known], minlength=groups)
    total = np.bincount(group[known], values[known], minlength=groups)
    return np.where(count > 0, total / np.maximum(1, count), np.nan)


def raggedness(outline: Array, group: NDArray[np.int64], groups: int, reach: int) -> Array:
    """Return the standard deviation of both edges of each stroke about their running parabola, px (groups,).

    The parabola is fitted by least squares over ``reach`` stations to either
    side, so that the bend of the stroke is not taken for raggedness; the
    residual of n fitted points is smaller than the deviation itself by
    sqrt(1 - h), h the weight of the point in its own fit, and is given back.
    """
    x = np.arange(-reach, reach + 1, dtype=np.float64)
    basis = np.stack([x**0, x, x**2])
    kernel = np.linalg.solve(basis @ basis.T, basis)[0]
    n = len(group)
    if n < len(kernel):
        return np.full(groups, np.nan)
    whole = group[: n - 2 * reach] == group[2 * reach :]
    middle = group[reach : n - reach][whole]
    spread = []
    for side in outline.T:
        course = np.convolve(side, kernel[::-1], "valid")
        away = (side[reach : n - reach] - course)[whole]
        away = away / np.sqrt(1 - kernel[reach])
        centred = away - means(away, middle, groups)[middle]
        spread.append(np.sqrt(means(centred**2, middle, groups)))
    return _mean(np.column_stack(spread))
