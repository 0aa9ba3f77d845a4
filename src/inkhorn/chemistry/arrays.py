"""One array type for the whole floor: float64, one entry a parameter draw."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Floats: TypeAlias = float | NDArray[np.float64]


def floats(x: Floats) -> Array:
    """Return ``x`` as a float64 array of any shape, without a copy where possible.

    Parameters
    ----------
    x : array_like
        Numbers of any shape.

    Returns
    -------
    ndarray
        The same, float64.
    """
    return np.asarray(x, dtype=np.float64)


def ratio(top: Floats, bottom: Floats) -> Array:
    """Return ``top / bottom`` where the bottom is positive, else 0.

    Parameters
    ----------
    top, bottom : array_like
        Broadcast together; any common unit.

    Returns
    -------
    ndarray
        The quotient, 0 where ``bottom`` is not positive.
    """
    top_, bottom_ = np.broadcast_arrays(floats(top), floats(bottom))
    out = np.zeros(top_.shape)
    np.divide(top_, bottom_, out=out, where=bottom_ > 0)
    return out
