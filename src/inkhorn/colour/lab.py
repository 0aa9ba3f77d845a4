"""CIE XYZ to L*a*b* and back, under the D65 white of sRGB."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.xyz import linear_to_xyz, white, xyz_to_linear

# numbers-in-code: ISO/CIE 11664-4:2019
_DELTA = 6 / 29
_SLOPE = 1 / (3 * _DELTA * _DELTA)
_OFFSET = 4 / 29
_A = 500
_B = 200
_WHITE = white()


def _f(t: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(t > _DELTA**3, np.cbrt(t), t * _SLOPE + _OFFSET)


def _f_inverse(f: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(f > _DELTA, f * f * f, (f - _OFFSET) / _SLOPE)


def xyz_to_lab(xyz: ArrayLike) -> NDArray[np.float64]:
    """Turn XYZ ``(..., 3)`` into L*, a*, b* ``(..., 3)``.

    References
    ----------
    [CIE-LAB]. Checked in ``tests/published/test_colour_lab.py``.
    """
    f = _f(np.asarray(xyz, dtype=np.float64) / _WHITE)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    out = np.empty(f.shape)
    out[..., 0] = 116 * fy - 16
    out[..., 1] = _A * (fx - fy)
    out[..., 2] = _B * (fy - fz)
    return out


def lab_to_xyz(lab: ArrayLike) -> NDArray[np.float64]:
    """Turn L*, a*, b* ``(..., 3)`` into XYZ ``(..., 3)``; the inverse of `xyz_to_lab`."""
    v = np.asarray(lab, dtype=np.float64)
    fy = (v[..., 0] + 16) / 116
    f = np.stack([fy + v[..., 1] / _A, fy, fy - v[..., 2] / _B], axis=-1)
    return np.asarray(_f_inverse(f) * _WHITE)


def linear_to_lab(linear: ArrayLike) -> NDArray[np.float64]:
    """Turn linear sRGB ``(..., 3)`` into L*, a*, b*."""
    return xyz_to_lab(linear_to_xyz(linear))


def lab_to_linear(lab: ArrayLike) -> NDArray[np.float64]:
    """Turn L*, a*, b* into linear sRGB ``(..., 3)``; values outside 0 to 1 are kept."""
    return xyz_to_linear(lab_to_xyz(lab))
