"""The tone curve of a camera as a smooth rising function of what it recorded, with its doubt."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats

Array = NDArray[np.float64]

# numbers-in-code: knots of a smooth curve, in decades of recorded light; close where highlights are pressed together
KNOTS = np.array([0.05, -0.02, -0.07, -0.15, -0.27, -0.45, -0.7, -1.0, -1.3, -1.6, -2.0, -2.5])
_GRID = np.arange(0.3, -4.001, -0.01)
_NEAR_BLACK = 1e-3
#: How much each knot's slope counts at each grid point: linear between knots, level beyond the last.
_HATS = np.stack([np.interp(_GRID, KNOTS[::-1], one) for one in np.eye(KNOTS.size)[:, ::-1]], axis=1)


@attrs.frozen(kw_only=True, eq=False)
class Curve:
    """Log light as a function of recorded linear light.

    Attributes
    ----------
    numbers : ndarray (1 + knots,)
        The black offset, then the log slope at each of `KNOTS`.
    covariance : ndarray, square
    """

    numbers: Array
    covariance: Array

    def log_light(self, recorded: NDArray[np.floating]) -> Array:
        """Return the decimal logarithm of light (up to a constant) for recorded linear light."""
        return log_light(self.numbers, recorded)

    def light(self, recorded: NDArray[np.floating]) -> Array:
        """Return light, scaled so that recorded white is 1."""
        white = log_light(self.numbers, np.ones(1))
        return np.asarray(10 ** (self.log_light(recorded) - white))

    def recorded(self, light: Array) -> Array:
        """Return what the camera records of a light; the inverse of `light`."""
        grid = 10 ** _GRID[::-1]
        return np.asarray(10 ** np.interp(np.log10(light), np.log10(self.light(grid)), _GRID[::-1]))

    def doubt(self, bright: Array, dark: Array) -> Array:
        """Return the covariance (n, n) of the densities between recorded lights ``bright`` and ``dark`` (n,)."""
        sd = np.sqrt(np.diag(self.covariance))
        slopes = np.empty((bright.size, sd.size))
        for i, step in enumerate(sd / 10 + 1e-12):
            up, down = self.numbers.copy(), self.numbers.copy()
            up[i] += step
            down[i] -= step
            change = [log_light(n, bright) - log_light(n, dark) for n in (up, down)]
            slopes[:, i] = (change[0] - change[1]) / (2 * step)
        return np.asarray(slopes @ self.covariance @ slopes.T)


def plain(slope_sd: float, offset_sd: float) -> Curve:
    """Return the sRGB curve taken at its word, with the given doubt."""
    numbers = np.zeros(1 + KNOTS.size)
    spread = np.diag(np.concatenate([[offset_sd**2], np.full(KNOTS.size, 1e-8)]))
    spread[1:, 1:] += slope_sd**2
    return Curve(numbers=numbers, covariance=spread)


def log_light(numbers: Array, recorded: NDArray[np.floating]) -> Array:
    """Return the decimal logarithm of light, up to a constant, for the numbers of a `Curve`."""
    place, _ = _places(numbers[0], recorded)
    return np.asarray(np.interp(place, _GRID[::-1], _course(numbers)[0][::-1]))


def log_light_slopes(numbers: Array, recorded: NDArray[np.floating]) -> tuple[Array, Array]:
    """Return what `log_light` does, and its derivatives by each of the numbers, (..., 1 + knots)."""
    place, change = _places(numbers[0], recorded)
    whole, slope = _course(numbers)
    # the slope of the curve at a grid point is the exponential of a line between the logarithms at two knots
    moved = slope[:, None] * _HATS
    steps = (moved[1:] + moved[:-1]) / 2 * (_GRID[0] - _GRID[1])
    by_knot = np.concatenate([np.zeros((1, KNOTS.size)), -np.cumsum(steps, axis=0)])
    at = np.clip((_GRID[0] - place) / (_GRID[0] - _GRID[1]), 0, _GRID.size - 1)
    low = np.minimum(at.astype(int), _GRID.size - 2)
    part = at - low
    rise = (whole[low] - whole[low + 1]) / (_GRID[0] - _GRID[1])
    out = np.empty((*place.shape, 1 + KNOTS.size))
    out[..., 0] = rise * change
    out[..., 1:] = by_knot[low] * (1 - part)[..., None] + by_knot[low + 1] * part[..., None]
    return whole[low] * (1 - part) + whole[low + 1] * part, out


def _places(offset: float, recorded: NDArray[np.floating]) -> tuple[Array, Array]:
    """Return the decimal logarithm of what is recorded above the offset, and its derivative by the offset."""
    gap = np.asarray(recorded, dtype=np.float64) - offset
    # smoothly away from zero: what is recorded blacker than the offset has next to no light
    root = np.sqrt(gap * gap + 4 * _NEAR_BLACK**2)
    return np.log10((gap + root) / 2), -1 / (root * np.log(10))


def _course(numbers: Array) -> tuple[Array, Array]:
    """Return the logarithm of light at the grid, and its slope there."""
    slope = np.exp(_HATS @ numbers[1:])
    step = (slope[1:] + slope[:-1]) / 2 * (_GRID[0] - _GRID[1])
    return np.concatenate([[0.0], -np.cumsum(step)]), slope


def quick(curve: Curve) -> Callable[[Floats], Floats]:
    """Return `Curve.light` as a quick table over recorded light, finer in the dark."""
    grid = np.linspace(0, 1, 4096)
    table = curve.light(grid * grid).astype(np.float32)

    def light(recorded: Floats) -> Floats:
        at = np.sqrt(np.clip(recorded, 0, 1)) * np.float32(grid.size - 1)
        low = np.minimum(at.astype(np.int32), grid.size - 2)
        return np.asarray(table[low] + (table[low + 1] - table[low]) * (at - low), dtype=np.float32)

    return light
