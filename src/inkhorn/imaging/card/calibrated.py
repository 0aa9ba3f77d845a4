"""From a photograph with a card to a flat picture in true light and true size."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import PictureError
from inkhorn.handbook.load import row, value
from inkhorn.imaging.calibrate.curve import Curve, plain, quick
from inkhorn.imaging.calibrate.field import Field, fit_field
from inkhorn.imaging.calibrate.fit import fit_curve
from inkhorn.imaging.calibrate.paper import Paper, usual_paper
from inkhorn.imaging.card.find import Found
from inkhorn.imaging.card.flat import flattened
from inkhorn.imaging.card.layout import BAR, Rect
from inkhorn.imaging.card.steps import Seen, take_steps
from inkhorn.imaging.card.strip import ROUGH, cut, strip_in
from inkhorn.imaging.picture import Mask, Picture
from inkhorn.imaging.pixels import nearest

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Calibrated:
    """A flat picture of the strip in linear sRGB reflectance, and what was learnt on the way.

    Attributes
    ----------
    picture : Picture
        Of the frame, or of what lies round the card.
    mm_per_px : float
        Of the source picture, at the middle of what is measured.
    scale_sd : float
        Of every length, as a share.
    curve : Curve
    field : Field
    paper : Paper
    matrix : ndarray (3, 3)
        From the camera's light to linear sRGB; ``light`` and what the curve knows are the camera's.
    light : ndarray (3,)
        Of the card's paper at the middle of what is measured, as the curve gives it.
    doubt : float
        About the light on the strip, as a share.
    whole : bool
        Light could be calibrated; where it could not, only lengths are.
    beside : bool
        The frame is empty: what lies round the card is measured.
    rect : Rect
        What the picture shows, mm on the card as drawn.
    warnings : tuple of str
    """

    picture: Picture
    mm_per_px: float
    scale_sd: float
    curve: Curve
    field: Field
    paper: Paper
    matrix: Array
    light: Array
    doubt: float
    whole: bool
    beside: bool
    rect: Rect
    warnings: tuple[str, ...]


def calibrate(
    picture: Picture,
    found: Found,
    *,
    bar: float | None = None,
    measured: Mapping[str, float] | None = None,
    paper: Paper | None = None,
    curve: Curve | None = None,
) -> Calibrated:
    """Flatten and calibrate a picture by the card that was found in it.

    Parameters
    ----------
    bar : float, optional
        Length of the card's bar as measured, mm.
    measured : mapping, optional
        Densities of the card's steps against its paper, where the maker measured them.
    paper : Paper, optional
        The card's paper, where the maker measured it.
    curve : Curve, optional
        The camera's tone curve, where a chart told it; else the card's steps tell it.
    """
    seen = take_steps(picture, found, measured)
    if len(seen.paper) < value("card.paper_least"):
        raise PictureError(
            "the card's paper is hidden or cut off in the picture",
            mend="Show the whole card, flat, and try again",
        )
    own, whole, warnings = _curve(seen)
    curve = curve or own
    paper = paper or usual_paper()
    light = curve.light(seen.paper)
    field = fit_field(seen.places, light)
    rim = value("card.frame_rim")
    left, top, width, height = found.card.window
    rect = (left + rim, top + rim, width - 2 * rim, height - 2 * rim)
    small, there = _rough(picture, found, rect, curve, field, paper)
    strip = strip_in(small, _own(picture, paper), there, ROUGH)
    beside = strip is None
    if strip is not None:
        rect, strip = cut(rect, strip)
    else:
        rect = _around(picture, found)
    flat, valid, px_per_mm = _flat(picture, found, rect, curve, field, paper)
    valid &= ~_on_card(found, rect, px_per_mm, valid) if strip is None else nearest(strip, valid.shape[::-1])
    middle = np.array([rect[0] + rect[2] / 2, rect[1] + rect[3] / 2])
    mean = float(np.sqrt(np.prod(found.place.px_per_mm(middle))))
    out = Picture(
        codes=flat,
        valid=valid,
        reduction=picture.reduction * mean / px_per_mm,
        grey=picture.grey,
        compressed=picture.compressed,
        notes=picture.notes,
    )
    doubt = value("card.field_beside" if beside else "card.field_least")
    return Calibrated(
        picture=out,
        mm_per_px=(bar or BAR * value("card.print_scale")) / BAR / (mean * picture.reduction),
        scale_sd=_scale_sd(found, rect, bar),
        curve=curve,
        field=field,
        paper=paper,
        matrix=_matrix(picture),
        light=field.at(middle),
        doubt=float(np.hypot(doubt, field.miss)),
        whole=whole,
        beside=beside,
        rect=rect,
        warnings=warnings + _said(field, bar, beside=beside) + (_of_black(measured) if whole else ()),
    )


def _curve(seen: Seen) -> tuple[Curve, bool, tuple[str, ...]]:
    """Return the tone curve, whether it can be believed, and what is to be said."""
    if seen.burnt > value("card.burnt_share"):
        said = "the card's paper is burnt out to white: light is not calibrated; expose less and photograph again"
        return plain(row("card.bare_slope").spread, row("card.offset").spread), False, (said,)
    if len(seen.patches) < value("card.steps_least"):
        said = "most of the card's steps are hidden: light is not calibrated; show the whole card"
        return plain(row("card.bare_slope").spread, row("card.offset").spread), False, (said,)
    fit = fit_curve(seen.steps)
    bad = int((fit.weight < 0.5).sum())
    if bad > len(seen.patches) * value("card.bad_share"):
        said = f"{bad} of the card's {len(seen.patches)} steps disagree with the rest (shadow's edge, dirt, gloss)"
        return fit.curve, True, (said,)
    return fit.curve, True, ()


def _flat(
    picture: Picture, found: Found, rect: Rect, curve: Curve, field: Field, paper: Paper
) -> tuple[NDArray[np.uint16], Mask, float]:
    """Return reflectance in 65535 steps, where it is known, and px per mm."""
    middle = np.array([rect[0] + rect[2] / 2, rect[1] + rect[3] / 2])
    px_per_mm = float(found.place.px_per_mm(middle)[1])
    most = value("card.most_megapixels") * 10**6
    px_per_mm *= min(1.0, float(np.sqrt(most / (rect[2] * rect[3] * px_per_mm**2))))
    own = _own(picture, paper)
    flat, valid = flattened(
        picture, found.place.to_px, rect, px_per_mm, quick(curve), lambda places: own / field.at(places)
    )
    if picture.matrix is not None:
        for row in flat:  # one at a time bounds the memory
            row[:] = cv2.transform(row[None], picture.matrix)[0]
    return flat, valid, px_per_mm


def _matrix(picture: Picture) -> Array:
    return np.eye(3) if picture.matrix is None else picture.matrix


def _own(picture: Picture, paper: Paper) -> Array:
    """Return the reflectance of the card's paper in the channels of the file."""
    return np.asarray(np.linalg.solve(_matrix(picture), paper.linear), dtype=np.float64)


def _rough(
    picture: Picture, found: Found, rect: Rect, curve: Curve, field: Field, paper: Paper
) -> tuple[NDArray[np.uint16], Mask]:
    """Return what `_flat` does at `ROUGH` px per mm, from a picture averaged down as it is encoded: to find things in."""
    left, top, width, height = rect
    scale = float(found.place.px_per_mm(np.array([left + width / 2, top + height / 2]))[0]) / ROUGH
    edge = np.linspace(0, 1, 9)  # numbers-in-code: places enough along a side that the lens bends a little
    sides = [
        np.stack(np.meshgrid(*both), axis=-1).reshape(-1, 2) for both in ((edge, [0, 1]), ([0, 1], edge))
    ]
    outline = found.place.to_px(np.concatenate(sides) * [width, height] + [left, top])
    halvings = max(0, int(np.log2(max(1.0, scale))))
    by = 2**halvings
    most = np.array(picture.shape[::-1])
    first = np.clip(np.floor(outline.min(axis=0)).astype(int) - 2 * by, 0, np.maximum(most - 2 * by, 0))
    last = np.clip(np.ceil(outline.max(axis=0)).astype(int) + 2 * by, first + 2 * by, most)
    small = picture.rough(halvings, slice(first[1], last[1]), slice(first[0], last[0]))

    def to_px(mm: Array) -> Array:
        return np.asarray((found.place.to_px(mm) - first + 0.5) / by - 0.5)

    own = _own(picture, paper)
    return flattened(small, to_px, rect, ROUGH, quick(curve), lambda places: own / field.at(places))


def _around(picture: Picture, found: Found) -> Rect:
    """Return what the picture shows of the card's plane, mm, as far as `card.around`."""
    height, width = picture.shape
    edge = np.array([(0, 0), (width - 1, 0), (width - 1, height - 1), (0, height - 1)], dtype=np.float64)
    card, far = found.card, value("card.around") * found.card.width
    corners = np.clip(found.place.to_mm(edge), [-far, -far], [card.width + far, card.height + far])
    low, high = corners.min(axis=0), corners.max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1]))


def _on_card(found: Found, rect: Rect, px_per_mm: float, like: Mask) -> Mask:
    out = np.zeros_like(like)
    edge = value("card.strip_edge")
    low = np.array([-edge - rect[0], -edge - rect[1]]) * px_per_mm
    high = np.array([found.card.width + edge - rect[0], found.card.height + edge - rect[1]]) * px_per_mm
    left, top = np.maximum(low.astype(int), 0)
    right, foot = np.maximum(high.astype(int), 0)
    out[top:foot, left:right] = True
    return out


def _scale_sd(found: Found, rect: Rect, bar: float | None) -> float:
    """Return the doubt of lengths as a share: bar, feed of the printer, height of the strip, place."""
    left, top, width, height = rect
    ends = np.array([(left, top), (left + width, top + height)])
    place = float(np.hypot(*found.place.error_mm(ends))) / float(np.hypot(width, height))
    card = row("card.print_scale").spread if bar is None else row("card.ruler").spread / BAR
    return float(np.sqrt(card**2 + row("card.feed").spread ** 2 + row("card.height").spread ** 2 + place**2))


def _of_black(measured: Mapping[str, float] | None) -> tuple[str, ...]:
    """Return what is to be said where nobody measured how black the card's black is."""
    if measured:
        return ()
    sd = row("card.model_sd").spread
    said = (
        f"how black the card's black is was not measured: densities may be {sd:.0%} off; measure its paper and its full "
        "black once and give --chart"
    )
    return (said,)


def _said(field: Field, bar: float | None, *, beside: bool) -> tuple[str, ...]:
    out: tuple[str, ...] = ()
    if bar is None:
        sd = row("card.print_scale").spread
        out += (
            f'the card\'s bar was not measured: lengths may be {sd:.0%} off; measure it and give --bar "98.4 mm"',
        )
    if field.miss > value("card.uneven"):
        out += (f"the light on the card is uneven by {field.miss:.0%} beyond a smooth fall (a shadow?)",)
    if beside:
        out += ("the card's frame is empty: what lies beside the card was measured",)
    return out
