"""Which ends of strokes look torn off by wear, and which as the pen left them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import sampled
from inkhorn.imaging.settings import Settings

Array = NDArray[np.float64]

# numbers-in-code: a grid over the end of a stroke, in stroke widths: along it from the tip inwards, and across it
_ALONG = np.linspace(-0.4, 2.0, 25)
_ACROSS = np.linspace(-0.4, 0.4, 9)  # numbers-in-code: the same


def torn_ends(
    tip: Array, way: Array, half: Array, lost: Floats, blur: float, settings: Settings
) -> NDArray[np.bool_]:
    """Return which ends show lost ink: remains thinned towards the tip, or an edge that no pen leaves.

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
        return np.zeros(0, bool)
    wide = 2 * half
    side = np.column_stack([-way[:, 1], way[:, 0]])
    along = tip[:, None] - way[:, None] * (wide[:, None] * _ALONG)[..., None]
    place = along[:, :, None] + side[:, None, None] * (wide[:, None] * _ACROSS)[:, None, :, None]
    seen = sampled(lost, place.reshape(len(tip), -1, 2)).reshape(len(tip), _ALONG.size, _ACROSS.size)
    middle = seen[:, :, np.abs(_ACROSS) < 1 / 4].mean(axis=2).astype(np.float64)
    # as near the tip as its blur lets one see, beside that, and well inside
    first = np.maximum(1 / 3, 2 * blur / wide)[:, None]
    inside = middle[:, _ALONG > 0.5]
    near = _within(middle, first, first + 1 / 4)
    own = np.maximum(_within(middle, 1 / 2, 1), _within(middle, 1, 2))
    usual = np.quantile(inside, 3 / 4)
    pale = (near < settings.end_pale * usual) & (near < settings.end_own * own)
    bend = _bend(seen, _within(middle, 1 / 3, 1))
    return np.asarray(pale | (bend < -settings.end_hollow) | (bend > settings.end_pointed))


def _within(middle: Array, low: Array | float, high: Array | float) -> Array:
    here = (np.asarray(low) - 1e-6 <= _ALONG) & (np.asarray(high) + 1e-6 >= _ALONG)
    here = np.broadcast_to(here, middle.shape)
    count = here.sum(axis=1)
    last = middle[:, -1]
    return np.where(count > 0, np.where(here, middle, 0).sum(axis=1) / np.maximum(1, count), last)


def _bend(seen: Floats, level: Array) -> Array:
    """Return the second-degree coefficient of the edge's course across the stroke, in stroke widths: 1 for a half disc."""
    inked: Mask = seen > level[:, None, None] / 2
    front = np.where(inked.any(axis=1), _ALONG[inked.argmax(axis=1)], _ALONG[-1])
    basis = np.stack([_ACROSS**0, _ACROSS, _ACROSS**2])
    return np.asarray(front @ np.linalg.solve(basis @ basis.T, basis)[2])
