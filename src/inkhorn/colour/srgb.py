"""The sRGB tone curve: encoded values to linear light and back."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import ArrayLike, NDArray

# numbers-in-code: IEC 61966-2-1:1999, the tone curve of sRGB
_SLOPE = 12.92
_OFFSET = 0.055
_GAMMA = 2.4
_KNEE_ENCODED = 0.04045
_KNEE_LINEAR = 0.0031308


def decode(encoded: ArrayLike) -> NDArray[np.float64]:
    """Turn encoded sRGB (0 to 1) into linear light.

    Values below zero, which a wider gamut can give, are mirrored:
    ``decode(-v) == -decode(v)``.

    Parameters
    ----------
    encoded : array_like
        Any shape, unitless; an 8-bit value divided by 255.

    Returns
    -------
    ndarray
        The same shape, linear, 1 = white.

    References
    ----------
    [IEC-SRGB]. Checked in ``tests/published/test_colour_srgb.py``.
    """
    v = np.asarray(encoded, dtype=np.float64)
    size = np.abs(v)
    curve = ((size + _OFFSET) / (1 + _OFFSET)) ** _GAMMA
    return np.copysign(np.where(size <= _KNEE_ENCODED, size / _SLOPE, curve), v)


def encode(linear: ArrayLike) -> NDArray[np.float64]:
    """Turn linear light into encoded sRGB; the inverse of `decode`, not clipped."""
    v = np.asarray(linear, dtype=np.float64)
    size = np.abs(v)
    curve = (1 + _OFFSET) * size ** (1 / _GAMMA) - _OFFSET
    return np.copysign(np.where(size <= _KNEE_LINEAR, size * _SLOPE, curve), v)


@functools.cache
def _table() -> NDArray[np.float32]:
    table = decode(np.arange(256) / 255).astype(np.float32)
    table.setflags(write=False)
    return table


def decode_bytes(encoded: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Turn 8-bit sRGB into linear light by a table: for whole pictures, any shape."""
    return _table()[encoded]


def encode_bytes(linear: ArrayLike) -> NDArray[np.uint8]:
    """Turn linear light into 8-bit sRGB, clipped to what a screen can show."""
    return np.rint(np.clip(encode(np.clip(linear, 0, 1)), 0, 1) * 255).astype(np.uint8)
