"""Find what is not the sheet: a bed or table around it, frames, bars of steps, fingers, transparent borders."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import (
    Bytes,
    dilate,
    disc,
    erode,
    filled,
    gauss,
    grown,
    level_of,
    mostly,
    nearest,
    opened,
    pieces,
    square,
    widened,
)
from inkhorn.imaging.settings import Settings


def outside_sheet(small: Floats, valid: Mask, settings: Settings) -> Mask:
    """Return the mask of pixels that are not the sheet, bool (H, W), from light averaged down to `pixels.coarse_size` of ``valid``.

    A region counts as surround if it is much darker than the sheet, reaches the
    picture's edge, and is wider than any stroke (it survives an opening by a
    share of the picture's side).
    """
    height, width = valid.shape
    size = small.shape[1::-1]
    light = level_of(small)
    sheet = float(np.quantile(light, 1 - settings.tile_share / 4))
    dark = (light < sheet * 10**-settings.surround_depth).astype(np.uint8)
    reach = max(2, round(settings.surround_share * max(size)))
    round_one = disc(2 * reach + 1)
    seen = _at_edge(_opened(dark, round_one, reach, cv2.BORDER_CONSTANT), 0)
    seen |= _at_edge(_opened(dark, round_one, reach, cv2.BORDER_REPLICATE), round(max(size) / 4))
    if not seen.any():
        return ~valid
    # the sheet ends where the light is half way, in density, between sheet and surround
    middle = np.sqrt(sheet * max(1e-4, float(np.median(light[seen > 0]))))
    near = dilate(seen, round_one) & (light < middle).astype(np.uint8)
    near |= _joined(light < middle, seen > 0)
    margin = dilate(near, square(5)) > 0
    return nearest(margin, (width, height)) | ~valid


def beside_writing(small: Floats, sheet: Mask, settings: Settings) -> tuple[Mask, Mask]:
    """Return what is set off from the writing by a sharp edge and holds little of it, and sharp edges amid it, bool (H, W).

    A white table, the frame of a screenshot with its caption, a bar of grey and
    colour steps, a finger: none is darker than every sheet, but all end sharply,
    while writing goes on over the edge of a shadow. The picture is parted at the
    sharp edges that are left once marks as narrow as strokes are filled; parts
    that hold much less writing for their size than the one with the most are not
    the sheet. An empty margin so lost takes no ink with it. Edges that are left
    are those of shadows, stains and folds: the support there is not known. ``small`` is light averaged
    down to `pixels.coarse_size` of ``sheet``.
    """
    height, width = sheet.shape
    size = small.shape[1::-1]
    shrink = max(height, width) / max(size)
    density = -np.log10(np.maximum(small, np.float32(1e-4)))
    element = disc(2 * max(2, round(settings.sheet_fill * max(size))) + 1)
    plain = gauss(opened(density, element), 1)
    change = dilate(plain, square(5)) - erode(plain, square(5))
    change = np.maximum(np.maximum(change[..., 0], change[..., 1]), change[..., 2])
    inside = mostly(sheet, size)
    edge = max(settings.sheet_edge, settings.bare_band * float(np.median(change[inside])))
    parts = opened((inside & (change < edge)).astype(np.uint8), disc(5)) > 0
    count, labels = pieces(parts)
    marks = level_of(density - plain)
    deep = inside & (marks > max(settings.least_contrast / 2, settings.high_share * _deep(marks[inside])))
    sizes = np.bincount(labels.ravel(), minlength=count)[1:]
    written = np.bincount(labels[deep], minlength=count)[1:]
    if not written.any():
        return np.zeros_like(sheet), np.zeros_like(sheet)
    best = int(written.argmax())
    share = written / np.maximum(1, sizes)
    if share[best] < settings.written_share:
        return np.zeros_like(sheet), np.zeros_like(sheet)
    kept = (share > share[best] * settings.sheet_written) & (written > written[best] * settings.sheet_part)
    keep = filled(_of_nearest(labels, np.concatenate([[False], kept])) & inside)
    keep |= _nooks(inside & ~keep, keep, settings)
    beside = grown(nearest(~keep, (width, height)), round(3 * shrink)) & sheet
    return beside, nearest(keep & inside & ~parts, (width, height))


def _of_nearest(labels: NDArray[np.int32], kept: NDArray[np.bool_]) -> Mask:
    """Return the parts that are kept, each with the half of the edges round it that lies nearer to it than to others."""
    parts = labels > 0
    near = cv2.distanceTransformWithLabels(
        (~parts).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )[1]
    of = np.zeros(np.count_nonzero(parts) + 1, np.int32)
    of[near[parts]] = labels[parts]
    return np.asarray(kept[of[near]])


def _nooks(beside: Mask, keep: Mask, settings: Settings) -> Mask:
    """Return small pieces of the sheet's own margin that a stain or a curl sets off."""
    count, labels = pieces(beside)
    small = np.bincount(labels.ravel(), minlength=count) < settings.sheet_nook * beside.size
    touching = np.zeros(count, bool)
    touching[labels[widened(keep, square(3))]] = True
    touching[0] = False
    return np.asarray((small & touching)[labels])


def _deep(marks: Floats) -> float:
    """Return how deep the deeper narrow marks are."""
    # numbers-in-code: writing takes up some hundredths of a sheet
    return float(np.quantile(marks, 1 - 1 / 50))


def _joined(dark: Mask, seen: Mask) -> Bytes:
    """Return the narrower parts of a surround, as between a sheet and the bar beside it, that join on to the wide ones."""
    band = disc(7)  # numbers-in-code: px of the reduced picture, wider than strokes are there
    count, labels = pieces(opened(dark.astype(np.uint8), band) > 0)
    joined = np.zeros(count, np.uint8)
    joined[labels[seen]] = 1
    joined[0] = 0
    return joined[labels]


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
