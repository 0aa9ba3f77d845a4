"""The same strokes in several pictures: one picture's own map of whole ink, measured in each."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.compare.register import register
from inkhorn.errors import PictureError
from inkhorn.imaging.picture import Mask, Picture
from inkhorn.imaging.reading import BARE, GAP, INTACT, OUTSIDE, Maps, PhotoReading

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

# numbers-in-code: settings of a search and of a resampling
_BLURS = (0.0, 0.5, 0.8, 1.2, 1.6, 2.0, 2.6, 3.2, 4.0)
_RESAMPLED = 400
_FEWEST = 40


def follow(
    picture: Picture, maps: Maps, reading: PhotoReading, others: Sequence[Picture], *, seed: int = 0
) -> list[tuple[Array, Array] | None]:
    """Return the channel density of one picture's strokes in each of some others, with its sd, (3,) both.

    Each is laid over the first by `inkhorn.compare.register`, and the sharper of the two is blurred to
    the other; None where it does not show the same strokes. Densities are the first one's reading times
    the ratio of the two, core for core: what the edges take off is the same in both.

    Raises
    ------
    PictureError
        No ink of the first is broad and sharp enough.
    """
    first = _First(picture.linear, maps, reading)
    cores(maps, first.sheet, reading.stroke_px, reading.blur_px)
    return [_followed(first, other, seed) for other in others]


@attrs.frozen(eq=False)
class _First:
    """The picture whose strokes are followed."""

    linear: Floats
    maps: Maps
    reading: PhotoReading

    @property
    def sheet(self) -> Mask:
        return np.asarray(self.maps.state != OUTSIDE)


def _followed(first: _First, other: Picture, seed: int) -> tuple[Array, Array] | None:
    linear, maps, reading = first.linear, first.maps, first.reading
    try:
        placed = register(
            np.ascontiguousarray(linear.mean(axis=2)), np.ascontiguousarray(other.linear.mean(axis=2))
        )
    except PictureError:
        return None
    laid = [placed.laid_over(np.ascontiguousarray(other.linear[..., c]), linear.shape[:2]) for c in range(3)]
    sheet = first.sheet & laid[0][1]
    bare, reach = sheet & (maps.state == BARE), max(4 * reading.stroke_px, 8)
    pairs = [
        [over_support(np.ascontiguousarray(light), bare, sheet, reach) for light in (linear[..., c], over)]
        for c, (over, _) in enumerate(laid)
    ]
    middle = [np.asarray(np.mean([pair[k] for pair in pairs], axis=0), dtype=np.float32) for k in (0, 1)]
    blurs = one_sharpness(middle[0], middle[1], sheet & maps.strokes)
    try:
        labels, count, inside = cores(maps, sheet, reading.stroke_px, np.hypot(reading.blur_px, blurs[0]))
    except PictureError:
        return None
    ratio, sd = np.zeros(3), np.zeros(3)
    for c, pair in enumerate(pairs):
        (own, _), (seen, scatter) = (
            density_of(blurred(light, blur), labels, count, inside, np.random.default_rng(seed))
            for light, blur in zip(pair, blurs, strict=True)
        )
        ratio[c], sd[c] = seen / max(own, 1e-3), scatter / max(own, 1e-3)
    return ratio * reading.optical_density, sd * reading.optical_density


def one_sharpness(one: Floats, two: Floats, strokes: Mask) -> tuple[float, float]:
    """Return by how much (px) to blur each so that both are as sharp as the less sharp of them.

    The blur is that at which they are most alike around the strokes.
    """
    near = cv2.dilate(strokes.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    best, chosen = -2.0, (0.0, 0.0)
    for blur in _BLURS:
        for blurs in ((blur, 0.0), (0.0, blur)):
            alike = float(np.corrcoef(blurred(one, blurs[0])[near], blurred(two, blurs[1])[near])[0, 1])
            # A blur must earn its keep: noise alone makes a little of it look better.
            if alike > best + 1e-3:
                best, chosen = alike, blurs
    return chosen


def blurred(light: Floats, sigma: float) -> Floats:
    """Return light blurred by this many px; itself by none."""
    return light if sigma == 0 else np.asarray(cv2.GaussianBlur(light, (0, 0), sigma), dtype=np.float32)


def over_support(light: Floats, bare: Mask, sheet: Mask, reach: float) -> Floats:
    """Return light over that of bare support near by, 1 on bare support, ``(H, W)``."""
    weight = cv2.GaussianBlur(bare.astype(np.float32), (0, 0), reach)
    around = cv2.GaussianBlur(np.where(bare, light, 0).astype(np.float32), (0, 0), reach)
    support = around / np.maximum(weight, np.float32(1e-6))
    out = np.where(sheet & (weight > 1e-3), light / np.maximum(support, np.float32(1e-6)), 1)
    return np.asarray(out, dtype=np.float32)


def cores(maps: Maps, sheet: Mask, stroke_px: float, blur: float) -> tuple[NDArray[np.int32], int, Mask]:
    """Return labels of the pieces of whole ink, how many, and their cores, clear of edges as far as can be."""
    whole = sheet & (maps.state == INTACT)
    ink = (maps.strokes & sheet & (maps.state != GAP)).astype(np.uint8)
    depth = cv2.distanceTransform(ink, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    core: Mask = whole & (depth > min(2 * blur, stroke_px / 3))
    if core.sum() < _FEWEST:
        raise PictureError(
            "no ink is broad and sharp enough to be followed from picture to picture",
            where=f"{int(core.sum())} px of ink",
            mend="Photograph it from nearer, with more pixels to a stroke",
        )
    count, labels = cv2.connectedComponents(ink, connectivity=8)
    used = np.unique(labels[core])
    renamed = np.zeros(count, np.int32)
    renamed[used] = np.arange(len(used))
    return np.asarray(renamed[labels], dtype=np.int32), len(used), core


def density_of(
    light: Floats, labels: NDArray[np.int32], count: int, core: Mask, rng: np.random.Generator
) -> tuple[float, float]:
    """Return the density of the cores' mean light and its sd by resampling pieces, not pixels."""
    names = labels[core]
    sums = np.bincount(names, weights=light[core], minlength=count)
    sizes = np.bincount(names, minlength=count).astype(np.float64)
    picks = rng.integers(0, count, (_RESAMPLED, count))
    again = sums[picks].sum(axis=1) / sizes[picks].sum(axis=1)
    least = 1e-4
    middle = -np.log10(max(sums.sum() / sizes.sum(), least))
    return float(middle), float(np.std(-np.log10(np.maximum(again, least))))
