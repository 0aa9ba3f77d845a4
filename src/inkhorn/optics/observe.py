"""What the eye and a calibrated camera make of a reflectance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.lab import xyz_to_lab
from inkhorn.optics.spectra import observer

#: Linear channels are not allowed below this when a density is taken: a density of 4
#: is far beyond what a surface that mirrors any light can show, and very saturated
#: colours fall outside sRGB with a channel at or below zero.
FLOOR = 1e-4


def xyz(reflectance: ArrayLike) -> NDArray[np.float64]:
    """Return XYZ ``(..., 3)`` of reflectances ``(..., W)`` under D65, white at Y = 1."""
    return np.asarray(np.asarray(reflectance, dtype=np.float64) @ observer().xyz)


def linear_rgb(reflectance: ArrayLike) -> NDArray[np.float64]:
    """Return linear sRGB ``(..., 3)`` of reflectances ``(..., W)`` under D65, not clipped."""
    return np.asarray(np.asarray(reflectance, dtype=np.float64) @ observer().rgb)


def lab(reflectance: ArrayLike) -> NDArray[np.float64]:
    """Return L*, a*, b* ``(..., 3)`` of reflectances ``(..., W)`` under D65, 2 degrees."""
    return xyz_to_lab(xyz(reflectance))


def channel_density(ink_rgb: ArrayLike, bare_rgb: ArrayLike, *, floor: float = FLOOR) -> NDArray[np.float64]:
    """Return ``-log10(ink / bare)`` for each channel of linear sRGB.

    Parameters
    ----------
    ink_rgb, bare_rgb : array_like
        Linear channels ``(..., 3)`` of the stroke and of the bare support beside it; they broadcast.
    floor : float
        Both are raised to this first, see `FLOOR`.

    Returns
    -------
    ndarray
        ``(..., 3)``; 0 where there is no ink, negative where the stroke is lighter than the support.
    """
    ink = np.maximum(np.asarray(ink_rgb, dtype=np.float64), floor)
    bare = np.maximum(np.asarray(bare_rgb, dtype=np.float64), floor)
    return np.asarray(np.log10(bare / ink))


def from_density(density: ArrayLike, bare_rgb: ArrayLike) -> NDArray[np.float64]:
    """Return the linear channels that a density gives on a support; inverse of `channel_density`."""
    return np.asarray(np.asarray(bare_rgb) * 10 ** -np.asarray(density, dtype=np.float64))
