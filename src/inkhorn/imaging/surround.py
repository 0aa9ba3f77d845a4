"""Find what is not the sheet: a dark bed or table around it, transparent borders."""

from __future__ import annotations

import cv2
import numpy as np

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
    framed = cv2.copyMakeBorder(dark, reach, reach, reach, reach, cv2.BORDER_REPLICATE)
    wide = cv2.morphologyEx(framed, cv2.MORPH_OPEN, disc)[reach:-reach, reach:-reach]
    if not wide.any():
        return ~picture.valid
    count, labels = cv2.connectedComponents(wide)
    edge = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    keep = np.zeros(count, np.uint8)
    keep[edge] = 1
    keep[0] = 0
    seen = keep[labels]
    # grow back into the rest of the dark region near by, then take a margin for the sheet's own edge
    near = cv2.dilate(seen, disc) & dark
    margin = cv2.dilate(seen | near, np.ones((2 * (reach // 2) + 3,) * 2, np.uint8))
    full = cv2.resize(margin, (width, height), interpolation=cv2.INTER_NEAREST) > 0
    return np.asarray(full | ~picture.valid)
