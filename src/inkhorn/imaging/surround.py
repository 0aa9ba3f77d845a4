"""Find what is not the sheet: a dark bed or table around it, transparent borders."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Mask, Picture
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
    light = cv2.resize(picture.linear.mean(axis=2), size, interpolation=cv2.INTER_AREA)
    sheet = float(np.quantile(light, 1 - settings.tile_share / 4))
    dark = (light < sheet * 10**-settings.surround_depth).astype(np.uint8)
    reach = max(2, round(settings.surround_share * max(size)))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    seen = _at_edge(_opened(dark, disc, reach, cv2.BORDER_CONSTANT), 0)
    seen |= _at_edge(_opened(dark, disc, reach, cv2.BORDER_REPLICATE), round(max(size) / 4))
    if not seen.any():
        return ~picture.valid
    # the sheet ends where the light is half way, in density, between sheet and surround
    middle = np.sqrt(sheet * max(1e-4, float(np.median(light[seen > 0]))))
    near = cv2.dilate(seen, disc) & (light < middle).astype(np.uint8)
    margin = cv2.dilate(near, np.ones((5, 5), np.uint8))
    full = cv2.resize(margin, (width, height), interpolation=cv2.INTER_NEAREST) > 0
    return np.asarray(full | ~picture.valid)


def _opened(dark: NDArray[np.uint8], disc: NDArray[np.uint8], reach: int, border: int) -> NDArray[np.uint8]:
    framed = cv2.copyMakeBorder(dark, reach, reach, reach, reach, border, value=0)
    return np.asarray(cv2.morphologyEx(framed, cv2.MORPH_OPEN, disc)[reach:-reach, reach:-reach], dtype=np.uint8)


def _at_edge(mask: NDArray[np.uint8], least: int) -> NDArray[np.uint8]:
    """Keep the regions that touch the picture's edge along more than ``least`` px."""
    count, labels = cv2.connectedComponents(mask)
    touching = np.bincount(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]), minlength=count)
    keep = (touching > least).astype(np.uint8)
    keep[0] = 0
    return keep[labels]
