"""From a camera's linear light to true colour by regression on measured patches."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import xyz_to_lab
from inkhorn.colour.xyz import linear_to_xyz, xyz_to_linear
from inkhorn.handbook.load import value

Array = NDArray[np.float64]


def root_polynomial(rgb: Array) -> Array:
    """Return the root-polynomial terms of second degree, (..., 6): R, G, B, sqrt(RG), sqrt(GB), sqrt(RB).

    Each term grows with exposure as the light does, so a fit stays true when the
    picture is brighter or darker [RPCC].
    """
    r, g, b = np.moveaxis(np.maximum(rgb, 0), -1, 0)
    return np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], axis=-1)


@attrs.frozen(kw_only=True, eq=False)
class Regression:
    """A fit of camera light to linear sRGB.

    Attributes
    ----------
    matrix : ndarray (terms, 3)
        Three terms (linear) or six (`root_polynomial`).
    difference : float
        Median CIEDE2000 of patches that were left out one at a time.
    covariance : ndarray (3, 3)
        Of Lab of such a patch, from the same.
    """

    matrix: Array
    difference: float
    covariance: Array

    def linear(self, rgb: Array) -> Array:
        """Return linear sRGB (..., 3) of camera light (..., 3)."""
        return np.asarray(_features(rgb, len(self.matrix)) @ self.matrix)


def fit_regression(rgb: Array, xyz: Array) -> Regression:
    """Fit by least squares, weighed so that dark patches count as an eye counts them.

    Six terms where there are enough patches for them, three otherwise; the error
    is that of patches left out, never that of the fit itself.
    """
    terms = 6 if len(rgb) >= value("chart.enough_for_roots") else 3
    wanted = xyz_to_linear(xyz)
    features = _features(rgb, terms)
    # the slope of lightness over light goes as light to the power -2/3
    weight = 1 / np.maximum(xyz[:, 1], value("chart.darkest")) ** (2 / 3)
    matrix = _solved(features, wanted, weight)
    left_out = np.empty_like(wanted)
    for i in range(len(rgb)):
        rest = np.arange(len(rgb)) != i
        left_out[i] = features[i] @ _solved(features[rest], wanted[rest], weight[rest])
    lab, true = xyz_to_lab(linear_to_xyz(np.maximum(left_out, 1e-5))), xyz_to_lab(xyz)
    miss = lab - true
    return Regression(
        matrix=matrix,
        difference=float(np.median(ciede2000(lab, true))),
        covariance=np.asarray(miss.T @ miss / len(miss)),
    )


def _features(rgb: Array, terms: int) -> Array:
    return root_polynomial(rgb) if terms == 6 else rgb


def _solved(features: Array, wanted: Array, weight: Array) -> Array:
    left, right = features * weight[:, None], wanted * weight[:, None]
    return np.asarray(np.linalg.lstsq(left, right, rcond=None)[0])
