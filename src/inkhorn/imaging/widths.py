"""The width of a blurred stroke, from where its profile falls below levels of its own peak."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from inkhorn.imaging.settings import Settings

Array = NDArray[np.float64]


def width_of(contour: ArrayLike, blur: ArrayLike, settings: Settings) -> Array:
    r"""Return the width between the places where half of the light is lost, px.

    Parameters
    ----------
    contour : array_like
        Distance of the two contours at `Settings.edge_level` of the peak (R60), px.
    blur : array_like
        Distance from R10 to R90, mean of both edges, px.

    Notes
    -----
    An edge that a lens blurs with standard deviation s is the integral of a
    gaussian, so a stroke of width w loses at distance x from its middle the share

    .. math:: L(x) = \Phi\frac{x + w/2}{s} - \Phi\frac{x - w/2}{s}

    of its light. Where edges are far apart its contour at 60 % lies :math:`\Phi^{-1}(0.6)\,s = 0.253\,s`
    inside the half at both sides; where they are not, the peak itself is
    lowered and the contours move out again. Both contours are solved for as
    functions of w/s, which their ratio then tells. A stroke narrower than s
    is a line of which the blur alone is seen: it is read as s wide, the most it can be.
    """
    contour, blur = np.asarray(contour, dtype=np.float64), np.asarray(blur, dtype=np.float64)
    ratio, gain, _ = _gains(settings.edge_level, settings.edge_outer, settings.edge_inner)
    share = blur / np.maximum(contour, 1e-6)
    return np.asarray(contour + blur * np.interp(share, ratio, gain))


def blur_of(contour: ArrayLike, blur: ArrayLike, settings: Settings) -> Array:
    """Return the standard deviation of the blur, px, from the same two distances as `width_of` and in the same way.

    An edge alone takes 2 Phi^-1(0.9) standard deviations from R10 to R90. Those of a narrow stroke are cut
    short by its lowered peak: taken for whole ones they make a blurred stroke look sharper than it is.
    """
    contour, blur = np.asarray(contour, dtype=np.float64), np.asarray(blur, dtype=np.float64)
    ratio, _, own = _gains(settings.edge_level, settings.edge_outer, settings.edge_inner)
    return np.asarray(blur * np.interp(blur / np.maximum(contour, 1e-6), ratio, own))


@functools.cache
def _gains(level: float, outer: float, inner: float) -> tuple[Array, Array, Array]:
    """Return rising ratios of blur to contour distance, what of the blur is to be added to the latter, and its sd."""
    # in units of s; from 12 on the edges of a stroke know nothing of each other
    wide = np.geomspace(12, 1, 200)  # numbers-in-code: steps of a table
    x = np.linspace(0, 12, 2000)  # numbers-in-code: steps of a table
    lost = ndtr(x + wide[:, None] / 2) - ndtr(x - wide[:, None] / 2)
    lost /= lost[:, :1]
    place = np.array([[np.interp(-p, -one, x) for p in (level, outer, inner)] for one in lost])
    blur, contour = place[:, 1] - place[:, 2], 2 * place[:, 0]
    return blur / contour, (wide - contour) / blur, 1 / blur
