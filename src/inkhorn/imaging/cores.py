"""Pixels well inside the strokes, gathered by letter, with what the blur leaves of them."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from inkhorn.imaging.edges import LEAST_RATIO
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import dilate, disc, in_rows, inside_by, nearest_of, pieces
from inkhorn.imaging.settings import Settings


@attrs.frozen(kw_only=True, eq=False)
class Cores:
    """Core pixels of the strokes.

    Attributes
    ----------
    rows, columns : ndarray (N,)
    ratio : ndarray (N, 3)
        Light against the bare support near by, per channel, freed of edge blur.
    density : ndarray (N,)
        Scalar density, -log10 of the mean ratio, at most the surface floor.
    letter : ndarray (N,)
        Number of the letter (connected piece, cut where long), from 0.
    deep : ndarray of bool (N,)
        Pixels far enough inside to tell a density; the others help to tell the shares of wear.
    weight : ndarray (N,)
        Pixels of the stroke area to which each is the nearest: what it stands for in the shares of wear.
    faith : float
        Share of the ink's light loss that blur leaves in the least of the deep pixels.
    """

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    ratio: NDArray[np.float64]
    density: NDArray[np.float64]
    letter: NDArray[np.int64]
    deep: NDArray[np.bool_]
    weight: NDArray[np.float64]
    faith: float


def gather(
    envelope: Mask,
    picture: Picture,
    support: Floats,
    *,
    width: float,
    blur: float,
    noise: float,
    settings: Settings,
) -> Cores:
    """Return the core pixels of an envelope.

    A pixel is core if it lies deep enough inside for the blur of the edges to
    take nearly nothing of its depth; where strokes are too narrow for that,
    less deep pixels are used and the loss is given back: for an edge blurred
    with standard deviation s, a pixel at distance d in a stroke of width w
    keeps Phi(d/s) + Phi((w - d)/s) - 1 of its light loss.
    """
    depth = inside_by(envelope)
    reach = 2 * max(1, round(width / 2)) + 1
    half = dilate(depth, disc(reach))
    # distances run from pixel centre to the nearest outside centre: the edge is half a pixel nearer
    noise = max(LEAST_RATIO, noise)
    at = np.flatnonzero(depth >= min(settings.core_least, max(1.0, width / 4)))
    inside = depth.ravel()[at].astype(np.float64) - 0.5
    full = 2 * half.ravel()[at].astype(np.float64) - 1
    del depth, half  # as large as the picture
    kept = ndtr(inside / blur) + ndtr(np.maximum(full - inside, inside) / blur) - 1
    least = settings.core_faith
    enough = settings.core_few
    if np.count_nonzero(kept >= least) < enough:
        least = max(settings.core_faith_narrow, min(least, _level(kept, enough)))
    use = kept >= min(least, settings.core_wide)
    at, kept = at[use], kept[use]
    area = np.flatnonzero(envelope)
    weight = np.bincount(nearest_of(envelope.shape, at, area), minlength=at.size).astype(np.float64)
    del area, inside, full, use
    rows, columns = np.divmod(at, envelope.shape[1])
    letter = letters(envelope, rows, columns, width, settings)
    under = beneath(support, rows, columns, picture.shape)
    ratio = picture.at(rows, columns).astype(np.float64) / np.maximum(under, 1e-6)
    # in a deep stroke the little light that blur lets in is most of what is left: nothing is given back
    # where the loss is within the faith asked for, and never more than half of what is seen
    lost = np.minimum(1, kept / settings.core_faith)
    freed = np.maximum(1 - (1 - ratio) / lost[:, None], ratio / 2)
    ratio = np.maximum(freed, LEAST_RATIO)
    density = -np.log10(np.maximum(ratio.mean(axis=1), noise))
    # above the surface floor differences are not strength: they must not be taken for wear
    density = np.minimum(density, settings.surface_floor)
    return Cores(
        rows=rows,
        columns=columns,
        ratio=ratio,
        density=density,
        letter=letter,
        deep=kept >= least,
        weight=weight,
        faith=float(least),
    )


def beneath(
    support: Floats, rows: NDArray[np.int64], columns: NDArray[np.int64], shape: tuple[int, int]
) -> Floats:
    """Return the bare support under single pixels of a picture of ``shape``, (N, 3)."""
    grid = np.array(support.shape[1::-1]) / shape[::-1]
    return in_rows(support, (np.column_stack([columns, rows]) + 0.5) * grid - 0.5)


def _level(kept: NDArray[np.float64], enough: float) -> float:
    if not kept.size:
        return 0.0
    return float(np.quantile(kept, max(0.0, 1 - enough / kept.size)))


def letters(
    envelope: Mask, rows: NDArray[np.int64], columns: NDArray[np.int64], width: float, settings: Settings
) -> NDArray[np.int64]:
    """Return the number of the letter that each pixel belongs to: a connected piece, cut into tiles where it is long."""
    _, labels = pieces(envelope)
    tile = max(8, round(settings.letter_reach * width))
    across = envelope.shape[1] // tile + 1
    place = (rows // tile) * across + columns // tile
    key = labels[rows, columns].astype(np.int64) * (int(place.max()) + 1 if place.size else 1) + place
    # numbers-in-code: a table of so many keys takes a few MB, and is quicker than sorting
    if not key.size or int(key.max()) > 4_000_000:
        return np.unique(key, return_inverse=True)[1]
    held = np.zeros(int(key.max()) + 1, bool)
    held[key] = True
    return np.asarray((np.cumsum(held) - 1)[key], dtype=np.int64)
