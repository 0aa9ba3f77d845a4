"""From a photograph and its reading to a side of a comparison, with its pixels."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.compare.laid import lay_both, middle
from inkhorn.compare.picture import Curve, Mask, Sheet, curve
from inkhorn.compare.sides import Side, from_reading
from inkhorn.handbook.load import value
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.reading import GAP, THINNED, Maps, PhotoReading


def photo_side(
    picture: Picture,
    maps: Maps,
    reading: PhotoReading,
    *,
    prior: ArrayLike | None = None,
    prior_sd: ArrayLike | None = None,
    absorbance: NDArray[np.float64] | None = None,
) -> tuple[Side, Sheet]:
    """Return the side and the pixels of one photograph.

    Parameters
    ----------
    picture, maps, reading
        From `inkhorn.imaging`, of the same photograph.
    prior, prior_sd : array_like, optional
        Lab of its bare support by kind or measurement (`inkhorn.compare.sides.support_skin`).
    absorbance : ndarray (N, W), optional
        Predicted dry absorbance of a trial's ink.
    """
    side = from_reading(reading, prior=prior, prior_sd=prior_sd, absorbance=absorbance)
    left = film_left(maps, own_curve(side))
    if left is not None:
        side = from_reading(reading, prior=prior, prior_sd=prior_sd, film_thinned=left, absorbance=absorbance)
    return side, sheet_of(picture, maps, reading)


def own_curve(side: Side) -> Curve:
    """Return the curve of a side's ink on its own skin, with everything at its central value."""
    k2 = value("optics.surface.k2")
    laid, _ = lay_both(middle(side), middle(side), k1=value("optics.surface.k1"), k2=k2)
    return curve(laid.film[0], laid.support[0], float(laid.gleam[0]), k2)


def sheet_of(picture: Picture, maps: Maps, reading: PhotoReading) -> Sheet:
    """Return the pixels of one photograph as the pictures need them."""
    scale = reading.scale_mm_per_px
    whole = mended(maps.strokes, reading.stroke_px)
    return Sheet(
        linear=picture.linear,
        support=maps.support,
        strokes=whole,
        worn=(maps.state == THINNED) | (maps.state == GAP) | (whole & ~maps.strokes),
        blur_px=reading.blur_px,
        stroke_px=reading.stroke_px,
        mm_per_px=None if scale is None else scale * picture.reduction,
    )


def mended(strokes: Mask, stroke_px: float) -> Mask:
    """Return a stroke area with flakes filled that are narrower than ``compare.flake`` strokes.

    Wider ones are left: nothing tells them from the eye of a letter.
    """
    reach = round(value("compare.flake") * stroke_px / 2)
    if reach < 1:
        return strokes
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    room = np.pad(strokes, reach).astype(np.uint8)
    closed = cv2.morphologyEx(room, cv2.MORPH_CLOSE, disc) > 0
    return np.asarray(closed[reach:-reach, reach:-reach])


def film_left(maps: Maps, ink: Curve) -> float | None:
    """Return what is left of the film where a photograph shows it thinned; None if nowhere."""
    thin = maps.state == THINNED
    if not thin.any():
        return None
    return float(np.mean(ink.thickness((10 ** -maps.density[thin].astype(np.float64)).mean(axis=1))))
