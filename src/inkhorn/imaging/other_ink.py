"""Writing in another colour than most: red initials and rubrics, a blue stamp."""

from __future__ import annotations

import numpy as np

from inkhorn.imaging.cores import beneath, letters
from inkhorn.imaging.edges import LEAST_RATIO
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.settings import Settings


def other_ink(ink: Mask, picture: Picture, support: Floats, width: float, settings: Settings) -> Mask:
    """Return the letters of another hue than most of the ink, bool (H, W).

    Hue is the difference of the densities in red and in blue over their mean:
    about -0.2 for iron-tannin ink, -1.3 for red lead or vermilion, +1 for blue. Thinned ink
    turns yellower than whole ink, by less than a red differs from either.
    """
    out = np.zeros_like(ink)
    if picture.grey or not ink.any():
        return out
    rows, columns = np.nonzero(ink)
    letter = letters(ink, rows, columns, width, settings)
    # numbers-in-code: a hue needs no more than some hundred thousand pixels
    some = np.s_[:: max(1, rows.size // 200_000)]
    light = picture.at(rows[some], columns[some]).astype(np.float64)
    under = beneath(support, rows[some], columns[some], picture.shape)
    count, seen = int(letter.max()) + 1, letter[some]
    share = np.stack(
        [np.bincount(seen, light[:, c], count) / np.maximum(np.bincount(seen, under[:, c], count), 1e-9)
         for c in range(3)]
    )  # fmt: skip
    density = -np.log10(np.clip(share, LEAST_RATIO, None))
    mean = density.mean(axis=0)
    hue = (density[0] - density[2]) / np.maximum(mean, 1e-3)
    size = np.bincount(seen, minlength=count)
    order = np.argsort(hue)
    half = np.searchsorted(np.cumsum(size[order]), size.sum() / 2)
    usual, deep = hue[order[half]], float(np.average(mean, weights=size))
    other = (np.abs(hue - usual) > settings.other_hue) & (mean > settings.low_share * deep)
    out[rows, columns] = other[letter]
    return out
