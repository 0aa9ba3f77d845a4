"""Pictures by the film model, in linear light: lines carried to another skin, pages re-inked.

Everything here works on plain arrays. Each pixel of a stroke is read as some thickness
of that stroke's own ink (1 where it is whole), and the same thickness of the other ink
is put in its place; what the model does not explain (the skin's grain, the light) is
left as it was, because only the ratio of the two is applied.
"""

from __future__ import annotations

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from inkhorn.optics import observe
from inkhorn.optics.film import reflectance

Array = NDArray[np.float64]
Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

# numbers-in-code: steps of a look-up table, finer than 8 bits show
_LEVELS = 241
_THICKEST = 3
_SHARPEST = 1 / 2


@attrs.frozen(kw_only=True, eq=False)
class Curve:
    """What a film of growing thickness lets back, against bare skin, for each channel.

    Attributes
    ----------
    film : ndarray (K,)
        Thickness, 1 = the intact ink.
    ratio : ndarray (K, 3)
        Linear channels over the bare skin's.
    """

    film: Array
    ratio: Array

    def mean(self) -> Array:
        """Return the mean over the channels, ``(K,)``, falling from 1."""
        return np.asarray(self.ratio.mean(axis=1))

    def whole(self) -> Array:
        """Return the ratios of the intact ink, ``(3,)``."""
        return np.asarray(self.at(np.ones(1))[0])

    def at(self, film: NDArray[np.floating]) -> Array:
        """Return the ratios ``(..., 3)`` for thicknesses ``(...)``."""
        return np.stack([np.interp(film, self.film, self.ratio[:, c]) for c in range(3)], axis=-1)

    def thickness(self, mean_ratio: NDArray[np.floating]) -> Array:
        """Return the thickness that leaves this mean ratio, 0 for what is lighter than bare skin."""
        return np.asarray(np.interp(1 - mean_ratio, 1 - self.mean(), self.film))


def curve(film: Array, support: Array, k1: float, k2: float) -> Curve:
    """Return the curve of one ink ``(W,)`` on one skin ``(W,)``."""
    levels = _THICKEST * np.linspace(0, 1, _LEVELS) ** 2
    rgb = observe.linear_rgb(reflectance(levels[:, None] * film, support, k1, k2))
    return Curve(film=levels, ratio=rgb / rgb[0])


@attrs.frozen(kw_only=True, eq=False)
class Sheet:
    """The pixels of one side at working resolution.

    Attributes
    ----------
    linear : ndarray float32 (H, W, 3)
        The picture in linear light.
    support : ndarray float32 (H, W, 3)
        Bare skin under the same light, interpolated beneath the ink.
    strokes : ndarray of bool (H, W)
        Whole stroke area, worn gaps included.
    worn : ndarray of bool (H, W)
        The part of it where the ink is thinned or gone.
    blur_px, stroke_px : float
        Blur (standard deviation) and usual stroke width.
    mm_per_px : float or None
        Of this resolution.
    """

    linear: Floats
    support: Floats
    strokes: Mask
    worn: Mask
    blur_px: float
    stroke_px: float
    mm_per_px: float | None = None

    def ratio(self) -> Floats:
        """Return linear light over bare skin, ``(H, W, 3)``."""
        return np.asarray(self.linear / np.maximum(self.support, np.float32(observe.FLOOR)), dtype=np.float32)

    def cut(self, top: int, left: int, height: int, width: int) -> Sheet:
        """Return a window of the sheet."""
        w = np.s_[top : top + height, left : left + width]
        return attrs.evolve(
            self,
            linear=self.linear[w],
            support=self.support[w],
            strokes=self.strokes[w],
            worn=self.worn[w],
        )


def reink(sheet: Sheet, own: Curve, other: Curve, *, worn: bool = True, whole: float = 1) -> Floats:
    """Return the sheet written in another ink, linear light, ``(H, W, 3)``.

    Parameters
    ----------
    sheet : Sheet
    own, other : Curve
        The ink that is there and the one to put in its place, both on this sheet's skin.
    worn : bool
        Keep the wear; otherwise fill what is worn with whole ink up to the stroke's blurred rim.
    whole : float
        Film, against the intact ink, below which a place counts as worn.
    """
    film, cover = _read(sheet, own)
    there, new = _laid(film, cover, own), _laid(film, cover, other)
    if not worn:
        new = _filled(sheet, new, other, sheet.worn | (sheet.strokes & (film < whole)))
    return np.asarray(sheet.linear * (new / there), dtype=np.float32)


def carry(sheet: Sheet, own: Curve, other: Curve, bare: Array) -> Floats:
    """Return the sheet's strokes as they would look on another skin, linear light.

    Parameters
    ----------
    sheet : Sheet
    own, other : Curve
        The same ink on this sheet's skin and on the other.
    bare : ndarray (3,)
        The other skin in linear light; this sheet's own grain is kept upon it.
    """
    film, cover = _read(sheet, own)
    new = _laid(film, cover, other) * bare
    return np.asarray(sheet.ratio() / _laid(film, cover, own) * new, dtype=np.float32)


def _read(sheet: Sheet, own: Curve) -> tuple[Array, Array]:
    """Return the film near each pixel and how much of the pixel it covers, ``(H, W)`` both.

    A pixel is taken as partly covered by film as thick as the thickest within the
    blur around it: at a blurred rim ink and skin mix in linear light, and inside a
    stroke, where the film changes slowly, the cover is whole.
    """
    mean = np.clip(sheet.ratio().mean(axis=2), 0, 1)
    reach = 1 + round(2 * sheet.blur_px)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    near = cv2.dilate(sheet.strokes.astype(np.uint8), disc) > 0
    calm = cv2.GaussianBlur(mean, (0, 0), _SHARPEST)
    darkest = cv2.erode(np.where(sheet.strokes, calm, 1).astype(np.float32), disc)
    film = own.thickness(np.minimum(cv2.GaussianBlur(darkest, (0, 0), reach / 2), mean))
    cover = (1 - mean) / np.maximum(1 - np.interp(film, own.film, own.mean()), observe.FLOOR)
    return film, np.where(near, np.clip(cover, 0, 1), 0)


def _laid(film: Array, cover: Array, ink: Curve) -> Array:
    """Return the ratios ``(H, W, 3)`` of an ink laid as `_read` found it."""
    return np.maximum(1 - cover[..., None] * (1 - ink.at(film)), observe.FLOOR)


def _filled(sheet: Sheet, ratio: Array, ink: Curve, worn: Mask) -> Array:
    """Return the ratios with whole ink where the strokes are worn, up to a rim as blurred as the picture."""
    blur = max(sheet.blur_px, _SHARPEST)
    rounded = (
        cv2.GaussianBlur(sheet.strokes.astype(np.float32), (0, 0), max(blur, sheet.stroke_px / 8)) > 1 / 2
    )
    inside = cv2.distanceTransform(rounded.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    outside = cv2.distanceTransform((~rounded).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    # the mask's edge lies where a stroke begins to show, about one blur outside its half-way line
    cover = ndtr((inside - outside) / blur - 1)[..., None]
    whole = 1 - cover * (1 - ink.whole())
    reach = 1 + round(2 * blur)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    where = cv2.GaussianBlur(cv2.dilate(worn.astype(np.float32), disc), (0, 0), blur)[..., None]
    return np.asarray(ratio + where * (np.minimum(whole, ratio) - ratio))
