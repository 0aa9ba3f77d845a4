"""Linear RGB to CIE XYZ (D65, 2 degrees) and back; other RGB spaces to sRGB."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import ArrayLike, NDArray

# numbers-in-code: IEC 61966-2-1:1999 (sRGB primaries and white, ITU-R BT.709)
SRGB_PRIMARIES = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
D65_CHROMATICITY = (0.3127, 0.3290)
# numbers-in-code: SMPTE EG 432-1 (P3 primaries; Display P3 uses the D65 white and the sRGB curve)
DISPLAY_P3_PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
# numbers-in-code: ICC.1:2022 section 7.2.16, the D50 white of the profile connection space
D50_WHITE = (0.9642, 1.0, 0.8249)
# numbers-in-code: Bradford cone matrix, ICC.1:2022 annex E
_BRADFORD = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))

Pair = tuple[float, float]


def white(chromaticity: Pair = D65_CHROMATICITY) -> NDArray[np.float64]:
    """Return the XYZ of a white of Y = 1 from its chromaticity ``(x, y)``."""
    x, y = chromaticity
    return np.array([x / y, 1, (1 - x - y) / y], dtype=np.float64)


def matrix(primaries: tuple[Pair, Pair, Pair], chromaticity: Pair = D65_CHROMATICITY) -> NDArray[np.float64]:
    """Return the 3x3 matrix from linear RGB to XYZ for three primaries and a white.

    The columns are the primaries' XYZ, scaled so that RGB = (1, 1, 1) is the white.
    """
    columns = np.stack([white(p) for p in primaries], axis=1)
    gain = np.linalg.solve(columns, white(chromaticity))
    return np.asarray(columns * gain, dtype=np.float64)


@functools.cache
def srgb_matrix() -> NDArray[np.float64]:
    """Return the read-only matrix from linear sRGB to XYZ (rows X, Y, Z)."""
    out = matrix(SRGB_PRIMARIES)
    out.setflags(write=False)
    return out


@functools.cache
def srgb_inverse() -> NDArray[np.float64]:
    """Return the read-only matrix from XYZ to linear sRGB."""
    out = np.asarray(np.linalg.inv(srgb_matrix()), dtype=np.float64)
    out.setflags(write=False)
    return out


def linear_to_xyz(linear: ArrayLike) -> NDArray[np.float64]:
    """Turn linear sRGB ``(..., 3)`` into XYZ ``(..., 3)``, white at Y = 1."""
    return np.asarray(np.asarray(linear, dtype=np.float64) @ srgb_matrix().T)


def xyz_to_linear(xyz: ArrayLike) -> NDArray[np.float64]:
    """Turn XYZ ``(..., 3)`` into linear sRGB ``(..., 3)``; values outside 0 to 1 are kept."""
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ srgb_inverse().T)


def display_p3_to_srgb() -> NDArray[np.float64]:
    """Return the matrix from linear Display P3 to linear sRGB; use as ``rgb @ m.T``."""
    return np.asarray(srgb_inverse() @ matrix(DISPLAY_P3_PRIMARIES))


def adaptation(source: ArrayLike, target: ArrayLike) -> NDArray[np.float64]:
    """Return the Bradford matrix that takes XYZ under one white to another; use as ``xyz @ m.T``.

    Parameters
    ----------
    source, target : array_like
        XYZ of the two whites, shape ``(3,)``.
    """
    cone = np.array(_BRADFORD)
    gain = (cone @ np.asarray(target)) / (cone @ np.asarray(source))
    return np.asarray(np.linalg.solve(cone, gain[:, None] * cone))
