"""The few picture operations that the other modules are made of, with exact types."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask

Bytes = NDArray[np.uint8]
Size = tuple[int, int]
_Pixel = TypeVar("_Pixel", np.uint8, np.float32)
_HALF = np.iinfo(np.uint8).max // 2  # masks are resized as bytes, which is quicker than as floats


def by_strips(work: Callable[[int], None], height: int, rows: int) -> None:
    """Call ``work`` with the first row of each strip of ``rows`` rows, two at a time where the picture library may too: strips do not know each other."""
    if cv2.getNumThreads() < 2:
        for first in range(0, height, rows):
            work(first)
        return
    with ThreadPoolExecutor(2) as two:
        for _ in two.map(work, range(0, height, rows)):
            pass


def area(array: Floats, size: Size) -> Floats:
    """Reduce to ``size`` (width, height) by averaging areas."""
    return np.asarray(cv2.resize(array, size, interpolation=cv2.INTER_AREA), dtype=np.float32)


def coarse_size(shape: tuple[int, ...], side: float) -> Size:
    """Return width and height of a picture of ``shape`` reduced so that its longer side is at most ``side`` px."""
    shrink = max(1.0, max(shape[:2]) / side)
    return (max(1, round(shape[1] / shrink)), max(1, round(shape[0] / shrink)))


def area_share(mask: Mask, size: Size) -> Floats:
    """Reduce a mask to the share of each new pixel that it covers."""
    return area(mask.astype(np.float32), size)


def mostly(mask: Mask, size: Size) -> Mask:
    """Bring a mask to ``size`` (width, height): True where it covers at least half of a new pixel."""
    full = np.multiply(mask, np.uint8(2 * _HALF), dtype=np.uint8)
    return np.asarray(cv2.resize(full, size, interpolation=cv2.INTER_AREA) >= _HALF)


def enlarged(mask: Mask, size: Size) -> Mask:
    """Bring a small mask up to ``size`` (width, height) with smooth outlines."""
    if not mask.any():
        return np.zeros(size[::-1], bool)
    full = np.multiply(mask, np.uint8(2 * _HALF), dtype=np.uint8)
    return np.asarray(cv2.resize(full, size, interpolation=cv2.INTER_LINEAR) > _HALF)


def stretch(array: Floats, size: Size) -> Floats:
    """Bring to ``size`` (width, height) by linear interpolation."""
    return np.asarray(cv2.resize(array, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)


def nearest(mask: Mask, size: Size) -> Mask:
    """Bring a mask to ``size`` (width, height) by its nearest pixels."""
    return np.asarray(cv2.resize(mask.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0)


def disc(side: int) -> Bytes:
    """Return a round structuring element."""
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def square(side: int) -> Bytes:
    """Return a square structuring element."""
    return np.ones((side, side), np.uint8)


def dilate(array: NDArray[_Pixel], element: Bytes) -> NDArray[_Pixel]:
    """Return the greatest value under the element."""
    return np.asarray(cv2.dilate(array, element), dtype=array.dtype)


def erode(array: NDArray[_Pixel], element: Bytes) -> NDArray[_Pixel]:
    """Return the least value under the element."""
    return np.asarray(cv2.erode(array, element), dtype=array.dtype)


def opened(array: NDArray[_Pixel], element: Bytes) -> NDArray[_Pixel]:
    """Remove what is bright and narrower than the element."""
    return np.asarray(cv2.morphologyEx(array, cv2.MORPH_OPEN, element), dtype=array.dtype)


def closed(array: NDArray[_Pixel], element: Bytes) -> NDArray[_Pixel]:
    """Fill what is dark and narrower than the element."""
    return np.asarray(cv2.morphologyEx(array, cv2.MORPH_CLOSE, element), dtype=array.dtype)


def level_of(light: Floats) -> Floats:
    """Return the mean of the channels of light (H, W, C), float32 (H, W)."""
    channels = light.shape[2]
    return np.asarray(cv2.transform(light, np.full((1, channels), 1 / channels)), dtype=np.float32)


def grown(mask: Mask, reach: float) -> Mask:
    """Return a mask grown by ``reach`` px: what `widened` gives with a disc, at a price that does not rise with it."""
    if not mask.any():
        return np.zeros_like(mask)
    away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(away <= np.float32(reach + 1 / 4))


def widened(mask: Mask, element: Bytes) -> Mask:
    """Return a mask grown by the element."""
    return np.asarray(cv2.dilate(mask.astype(np.uint8), element) > 0)


def gauss(array: Floats, sigma: float) -> Floats:
    """Blur by a Gaussian; a wide one by three box means, whose variances add to the same."""
    if sigma < 4:
        return np.asarray(
            cv2.GaussianBlur(array, (0, 0), sigma, borderType=cv2.BORDER_REFLECT), dtype=np.float32
        )
    side = 2 * round(sigma) + 1  # a box of side n has variance (n^2 - 1)/12; three of them n^2/4
    for _ in range(3):
        array = np.asarray(cv2.blur(array, (side, side), borderType=cv2.BORDER_REFLECT), dtype=np.float32)
    return array


def inside_by(mask: Mask) -> Floats:
    """Return how far each pixel of a mask lies from the nearest pixel outside it, px; 0 outside."""
    return np.asarray(cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 5), dtype=np.float32)


def nearest_of(shape: tuple[int, int], marks: NDArray[np.intp], at: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return which of some marked pixels is nearest to each given one; all by their place in the flattened picture."""
    away = np.ones(shape, np.uint8)
    away.ravel()[marks] = 0
    labels = cv2.distanceTransformWithLabels(away, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)[1].ravel()
    order = np.zeros(marks.size + 1, np.intp)
    order[labels[marks]] = np.arange(marks.size)
    return np.asarray(order[labels[at]])


def pieces(mask: Mask) -> tuple[int, NDArray[np.int32]]:
    """Return the number of connected regions, the outside among them as 0, and their labels."""
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    return int(count), np.asarray(labels, dtype=np.int32)


def filled(mask: Mask) -> Mask:
    """Fill the holes of a mask: what of its outside does not reach the border of the picture."""
    count, labels = pieces(~mask)
    reaching = np.zeros(count, bool)
    for side in (labels[0], labels[-1], labels[:, 0], labels[:, -1]):
        reaching[side] = True
    return np.asarray(mask | ~reaching[labels])


def in_rows(array: Floats, place: NDArray[np.float64]) -> Floats:
    """Return `sampled` for a long list of points (N, 2): such a picture may be at most 32767 px long, so the list is folded."""
    # numbers-in-code: points in a row
    fold = 1024
    short = -len(place) % fold
    folded = np.pad(place, ((0, short), (0, 0))).reshape(-1, fold, 2)
    parts = [sampled(array, part) for part in np.array_split(folded, max(1, len(folded) // fold))]
    return np.concatenate(parts).reshape(-1, array.shape[2])[: len(place)]


def sampled(array: Floats, at: NDArray[np.float64]) -> Floats:
    """Return bilinear samples at points ``at`` (..., 2) of x, y, px; beyond the border its edge goes on."""
    place = at.astype(np.float32)
    taken = cv2.remap(array, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(taken, dtype=np.float32)
