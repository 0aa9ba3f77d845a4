"""From millimetres on the card to pixels: a homography, the lens's bend, and their errors."""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Place:
    """Where a plane lies in a picture.

    Attributes
    ----------
    numbers : ndarray (9,)
        Eight of the homography from mm to px (its last is 1), and the bend of
        the lens: a point at distance r from the middle, in half diagonals, is moved by bend r^2 of itself.
    covariance : ndarray (9, 9)
    middle : ndarray (2,)
        Of the picture, px.
    half : float
        Half its diagonal, px.
    growth : float
        How far printed black has spread beyond its drawn edge, mm.
    rms : float
        Of the corners against the fit, px.
    """

    numbers: Array
    covariance: Array
    middle: Array
    half: float
    growth: float
    rms: float

    def to_px(self, points: Array, numbers: Array | None = None) -> Array:
        """Return px (..., 2) of points (..., 2) in mm."""
        return project(self.numbers if numbers is None else numbers, points, self.middle, self.half)

    def to_mm(self, points: Array, numbers: Array | None = None) -> Array:
        """Return mm (..., 2) of points (..., 2) in px."""
        numbers = self.numbers if numbers is None else numbers
        bent = (points - self.middle) / self.half
        straight = bent.copy()
        for _ in range(8):
            straight = bent / (1 + numbers[8] * (straight**2).sum(axis=-1, keepdims=True))
        flat = straight * self.half + self.middle
        back = np.linalg.inv(np.append(numbers[:8], 1).reshape(3, 3))
        out = np.concatenate([flat, np.ones((*flat.shape[:-1], 1))], axis=-1) @ back.T
        return np.asarray(out[..., :2] / out[..., 2:])

    def px_per_mm(self, point: Array) -> Array:
        """Return the two scales at a point in mm, px per mm, the smaller first."""
        step = np.array([[0, 0], [1, 0], [0, 1]]) / 10
        at = self.to_px(point + step)
        local = (at[1:] - at[0]).T * 10
        return np.asarray(np.linalg.svd(local, compute_uv=False)[::-1])

    def error_mm(self, points: Array) -> Array:
        """Return one standard deviation of where points (n, 2) mm lie, mm along the worse direction (n,)."""
        out = []
        for point in np.atleast_2d(points):
            px = self.to_px(point)
            slope = np.empty((2, 9))
            for i in range(9):
                step = np.zeros(9)
                step[i] = np.sqrt(self.covariance[i, i]) / 10 + 1e-12
                moved = self.to_mm(px, self.numbers + step) - self.to_mm(px, self.numbers - step)
                slope[:, i] = moved / (2 * step[i])
            out.append(np.sqrt(np.linalg.eigvalsh(slope @ self.covariance @ slope.T)[-1]))
        return np.array(out)

    def tilt(self) -> float:
        """Return how oblique the plane is seen at the picture's middle: 1 straight on, smaller when tilted."""
        small, large = self.px_per_mm(self.to_mm(self.middle))
        return float(small / large)


def project(numbers: Array, points: Array, middle: Array, half: float) -> Array:
    """Return px (..., 2) of points (..., 2) mm for the numbers of a `Place`."""
    matrix = np.append(numbers[:8], 1).reshape(3, 3)
    flat = np.concatenate([points, np.ones((*points.shape[:-1], 1))], axis=-1) @ matrix.T
    straight = (flat[..., :2] / flat[..., 2:] - middle) / half
    return np.asarray(straight * (1 + numbers[8] * (straight**2).sum(axis=-1, keepdims=True)) * half + middle)


def fit_place(
    nominal: Array,
    seen: Array,
    *,
    sure: NDArray[np.bool_],
    size: tuple[int, int],
    bend_sd: float,
    growth_sd: float,
    floor: float,
    far: float,
) -> tuple[Place | None, NDArray[np.bool_]]:
    """Fit a plane to marker corners, and drop the markers that do not fit.

    Parameters
    ----------
    nominal, seen : ndarray (markers, 4, 2)
        Corners in mm as drawn and in px as found.
    sure : ndarray of bool (markers,)
        Measured along edges; others come from the search alone and count a tenth.
    size : width, height of the picture, px
    bend_sd, growth_sd : float
        Prior spreads of the lens's bend and of the growth of black, mm.
    floor : float
        Least error of a corner, px.
    far : float
        A marker further off than this many times the usual miss (but at least a pixel) is dropped.
    """
    kept = np.ones(len(nominal), bool)
    middle = np.array([(size[0] - 1) / 2, (size[1] - 1) / 2])
    half = float(np.hypot(*size)) / 2
    outward = np.sign(nominal - nominal.mean(axis=1, keepdims=True))
    matrix, inside = cv2.findHomography(nominal.reshape(-1, 2), seen.reshape(-1, 2), cv2.RANSAC, half / 100)
    if np.shape(matrix) != (3, 3):
        return None, np.zeros_like(kept)
    kept &= inside.reshape(-1, 4).sum(axis=1) >= 3
    start = np.concatenate([(matrix / matrix[2, 2]).ravel()[:8], [0, 0]])
    for _ in range(len(nominal)):
        if kept.sum() < 2:
            return None, kept
        weight = np.where(sure[kept], 1.0, 0.1)[:, None, None]
        prior = np.array([floor / bend_sd, floor / growth_sd])
        scale = np.concatenate([np.maximum(np.abs(start[:8]), 1e-6), [bend_sd, growth_sd]])

        def miss(numbers: Array, weight: Array = weight, prior: Array = prior) -> Array:
            points = nominal[kept] + numbers[9] * outward[kept]
            off = (project(numbers[:9], points, middle, half) - seen[kept]) * weight
            return np.concatenate([off.ravel(), numbers[8:] * prior])

        found = least_squares(miss, start, x_scale=scale, loss="soft_l1", f_scale=1.0, method="trf")
        off = project(found.x[:9], nominal + found.x[9] * outward, middle, half) - seen
        each = np.sqrt((off**2).sum(axis=2).mean(axis=1))
        usual = max(floor, float(np.median(each[kept])))
        worst = int(np.argmax(np.where(kept, each, 0)))
        if each[worst] <= max(1.0, far * usual) or kept.sum() <= 2:
            break
        kept[worst] = False
    count = 8 * int(kept.sum())
    rms = float(np.sqrt((found.fun[:count] ** 2).sum() / max(1, count - 8)))
    spread = _inverse(found.jac.T @ found.jac, scale)
    return (
        Place(
            numbers=found.x[:9],
            covariance=spread[:9, :9] * max(rms, floor) ** 2,
            middle=middle,
            half=half,
            growth=float(found.x[9]),
            rms=rms,
        ),
        kept,
    )


def _inverse(curvature: Array, scale: Array) -> Array:
    """Invert a curvature whose numbers are of very different size."""
    return np.asarray(np.linalg.inv(curvature * np.outer(scale, scale)) * np.outer(scale, scale))
