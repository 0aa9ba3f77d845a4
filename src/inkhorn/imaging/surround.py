"""Find what is not the sheet: a dark bed or table around it, transparent borders."""

from __future__ import annotations

import cv2
import numpy as np

from inkhorn.imaging.picture import Mask, Picture
from inkhorn.imaging.pixels import Bytes, area, dilate, disc, nearest, opened, pieces, square
from inkhorn.imaging.settings import Settings


def outside_sheet(picture: Picture, settings: Settings) -> Mask:
    """Return the mask of pixels that are not the sheet, bool (H, W).

    A region counts as surround if it is much darker than the sheet, reaches the
    picture's edge, and is wider than any stroke (it survives an opening by a
    share of the picture's side).
    """
    height, width = picture.shape
    shrink = max(1.0, max(height, width) / settings.coarse_side)
    size = (max(1, round(width / shrink)), max(1, round(height / shrink)))
    light = area(picture.linear, size).mean(axis=2)
    sheet = float(np.quantile(light, 1 - settings.tile_share / 4))
    dark = (light < sheet * 10**-settings.surround_depth).astype(np.uint8)
    reach = max(2, round(settings.surround_share * max(size)))
    round_one = disc(2 * reach + 1)
    seen = _at_edge(_opened(dark, round_one, reach, cv2.BORDER_CONSTANT), 0)
    seen |= _at_edge(_opened(dark, round_one, reach, cv2.BORDER_REPLICATE), round(max(size) / 4))
    if not seen.any():
        return ~picture.valid
    # the sheet ends where the light is half way, in density, between sheet and surround
    middle = np.sqrt(sheet * max(1e-4, float(np.median(light[seen > 0]))))
    near = dilate(seen, round_one) & (light < middle).astype(np.uint8)
    margin = dilate(near, square(5)) > 0
    return nearest(margin, (width, height)) | ~picture.valid


def _opened(dark: Bytes, element: Bytes, reach: int, border: int) -> Bytes:
    framed = np.asarray(cv2.copyMakeBorder(dark, reach, reach, reach, reach, border, value=0), dtype=np.uint8)
    return opened(framed, element)[reach:-reach, reach:-reach]


def _at_edge(mask: Bytes, least: int) -> Bytes:
    """Keep the regions that touch the picture's edge along more than ``least`` px."""
    count, labels = pieces(mask > 0)
    touching = np.bincount(
        np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]), minlength=count
    )
    keep = (touching > least).astype(np.uint8)
    keep[0] = 0
    return keep[labels]
