"""Which ends of strokes look torn off by wear, and which as the pen left them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import sampled
from inkhorn.imaging.settings import Settings

Array = NDArray[np.float64]

# numbers-in-code: a grid over the end of a stroke, in stroke widths: along it from the tip inwards, and across it
_ALONG = np.linspace(-0.4, 2.0, 25)
_ACROSS = np.linspace(-0.4, 0.4, 9)  # numbers-in-code: the same


def torn_ends(tip: Array, way: Array, half: Array, lost: Floats, blur: float, settings: Settings) -> Array:
    """Return how surely each end (K,) shows lost ink, 0 to 1: remains thinned towards the tip, or an edge that no pen leaves.

    A pen's stroke is as deep at its end as further in, and ends in a line, an arc or a point of its nib. Wear
    thins what is left beside what it took, and bites hollows. About every second torn end shows it, and
    hardly any clean one of a stroke some px wide; `inkhorn.imaging.gaps` counts with both shares.

    Parameters
    ----------
    tip, way : ndarray (K, 2)
        Tip x, y and outward direction, px of ``lost``.
    half : ndarray (K,)
        Half width of the stroke there.
    lost : ndarray float32 (H, W)
        Share of light lost.
    blur : float
        Standard deviation of the picture's blur, px: nearer to a tip nothing is asked.
    """
    if not len(tip):
        return np.zeros(0)
    wide = 2 * half
    side = np.column_stack([-way[:, 1], way[:, 0]])
    along = tip[:, None] - way[:, None] * (wide[:, None] * _ALONG)[..., None]
    place = along[:, :, None] + side[:, None, None] * (wide[:, None] * _ACROSS)[:, None, :, None]
    seen = sampled(lost, place.reshape(len(tip), -1, 2)).reshape(len(tip), _ALONG.size, _ACROSS.size)
    middle = seen[:, :, np.abs(_ACROSS) < 1 / 4].mean(axis=2).astype(np.float64)
    # from the tip that the light shows: a thinned line's end may lie a px off, to one side more than to another
    at = _front(middle)[:, None]
    # as near the tip as its blur lets one see, beside that, and well inside
    first = at + np.maximum(1 / 3, 2 * blur / wide)[:, None]
    inside = middle[:, _ALONG > 0.5]
    near = _within(middle, first, first + 1 / 4)
    own = np.maximum(_within(middle, at + 1 / 2, at + 1), _within(middle, at + 1, at + 2))
    usual = np.quantile(inside, 3 / 4)
    soft, bent = settings.end_soft, settings.end_bend_soft
    pale = ndtr((settings.end_pale - near / usual) / soft) * ndtr((settings.end_own - near / own) / soft)
    bend = _bend(seen, _within(middle, at + 1 / 3, at + 1))
    hollow = ndtr((-settings.end_hollow - bend) / bent)
    pointed = ndtr((bend - settings.end_pointed) / bent)
    return np.asarray(1 - (1 - pale) * (1 - hollow) * (1 - pointed))


def _front(middle: Array) -> Array:
    """Return where, on the way in, half the light is lost that is lost a stroke's width further in, (K,)."""
    half = _within(middle, 1 / 3, 1)[:, None] / 2
    above = middle > half
    k = np.clip(above.argmax(axis=1), 1, None)
    each = np.arange(len(middle))
    before, after = middle[each, k - 1], middle[each, k]
    part = np.clip((half[:, 0] - before) / np.maximum(after - before, 1e-9), 0, 1)
    found = above.any(axis=1) & ~above[:, 0]
    return np.where(found, _ALONG[k - 1] + part * (_ALONG[1] - _ALONG[0]), 0)


def _within(middle: Array, low: Array | float, high: Array | float) -> Array:
    # a sample counts as far as its own step lies within: what is meant must not jump with the tip
    step = _ALONG[1] - _ALONG[0]
    low, high = (np.broadcast_to(np.asarray(v, float), (len(middle), 1)) for v in (low, high))
    share = np.clip(np.minimum(high, _ALONG + step / 2) - np.maximum(low, _ALONG - step / 2), 0, None)
    count = share.sum(axis=1)
    return np.where(count > 0, (share * middle).sum(axis=1) / np.maximum(1e-9, count), middle[:, -1])


def _bend(seen: Floats, level: Array) -> Array:
    """Return the second-degree coefficient of the edge's course across the stroke, in stroke widths: 1 for a half disc."""
    inked: Mask = seen > level[:, None, None] / 2
    front = np.where(inked.any(axis=1), _ALONG[inked.argmax(axis=1)], _ALONG[-1])
    basis = np.stack([_ACROSS**0, _ACROSS, _ACROSS**2])
    return np.asarray(front @ np.linalg.solve(basis @ basis.T, basis)[2])
