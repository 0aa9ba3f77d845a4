"""A chart of measured colours in a photograph: where its patches are, and what the camera made of them."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import PictureError
from inkhorn.handbook.load import value
from inkhorn.imaging.calibrate.curve import Curve
from inkhorn.imaging.calibrate.fit import Steps, fit_curve
from inkhorn.imaging.calibrate.reference import Reference
from inkhorn.imaging.calibrate.regress import Regression, fit_regression
from inkhorn.imaging.picture import Picture

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Chart:
    """What a chart taught.

    Attributes
    ----------
    curve : Curve
        The camera's tone curve, from the chart's neutral patches.
    regression : Regression
        From light (by the curve) to true colour.
    """

    curve: Curve
    regression: Regression


def read_chart(picture: Picture, reference: Reference, corners: Array) -> Chart:
    """Learn a camera from a chart.

    Parameters
    ----------
    picture : Picture
    reference : Reference
        With the row and column of each patch.
    corners : ndarray (4, 2)
        Middles of the four corner patches in px of the upright source picture: first row first
        column, first row last column, last row last column, last row first column.

    Raises
    ------
    PictureError
        Too few patches, no places, or patches outside the picture, burnt out or not what the file says.
    """
    if reference.grid is None:
        raise PictureError(
            "the chart's file does not say where its patches are",
            mend="Name them by row and column (A1, A2, B1) or give columns row and column",
        )
    if len(reference.names) < value("chart.least"):
        raise PictureError(
            f"the chart has only {len(reference.names)} patches",
            mend=f"At least {value('chart.least'):.0f} are needed, four of them neutral",
        )
    rgb = _patches(picture, reference, corners / picture.reduction)
    curve = _curve(rgb, reference)
    regression = fit_regression(np.asarray(curve.light(rgb)), reference.xyz)
    return Chart(curve=curve, regression=regression)


def _patches(picture: Picture, reference: Reference, corners: Array) -> Array:
    """Return the recorded linear light of each patch, (n, 3)."""
    grid = np.asarray(reference.grid)
    rows, columns = grid.max(axis=0)
    if rows == 0 or columns == 0:
        raise PictureError("the chart has only one row or one column", mend="Give a chart of several rows")
    ends = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float32)
    matrix = cv2.getPerspectiveTransform(ends, corners.astype(np.float32))
    half = value("chart.inner") / 2
    out = np.empty((len(grid), 3))
    for i, (row, column) in enumerate(grid):
        square = half * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) + np.array([column, row])
        at = cv2.perspectiveTransform(square[None].astype(np.float32), matrix)[0]
        low, high = np.floor(at.min(axis=0)).astype(int), np.ceil(at.max(axis=0)).astype(int) + 1
        if low.min() < 0 or (high > picture.shape[::-1]).any() or (high - low < 3).any():
            raise PictureError(
                f"patch {reference.names[i]!r} lies outside the picture or is too small in it",
                mend="Give the middles of the chart's four corner patches in px, clockwise from its first patch",
            )
        part = picture.part(slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0])), own=True)
        inside = np.zeros(part.shape[:2], np.uint8)
        cv2.fillConvexPoly(inside, np.rint(at - low).astype(np.int32), 1)
        out[i] = np.median(part[inside > 0], axis=0)
    return out


def _curve(rgb: Array, reference: Reference) -> Curve:
    """Return the tone curve from the neutral patches, and refuse a chart that is not the one of the file."""
    lab = reference.lab
    neutral = np.hypot(lab[:, 1], lab[:, 2]) < value("chart.neutral")
    burnt = rgb.max(axis=1) >= 1 - 1e-6
    use = np.flatnonzero(neutral & ~burnt)
    if use.size < value("chart.neutral_least"):
        raise PictureError(
            f"only {use.size} of the chart's patches are neutral and not burnt out",
            mend="Use a chart with at least four greys, and expose so that its white is not burnt out",
        )
    white = use[int(np.argmax(reference.xyz[use, 1]))]
    use = use[use != white]
    known = np.log10(reference.xyz[white, 1] / reference.xyz[use, 1])
    seen = np.log10(rgb[white].mean() / np.maximum(rgb[use].mean(axis=1), 1e-5))
    # a steep or flat camera keeps the order of greys; a wrong chart or turned corners do not
    if np.corrcoef(known, seen)[0, 1] < 1 - 1 / 10:
        raise PictureError(
            "the greys in the picture are not those of the chart's file",
            mend="Check the file, and the order of the corners: clockwise from the chart's first patch",
        )
    steps = Steps(
        recorded=rgb[use][:, :, None],
        blended=rgb[use],
        white=np.repeat(rgb[white][None], use.size, axis=0),
        screen=np.zeros(use.size, bool),
        share=np.ones(use.size),
        period=np.ones(use.size),
        known=known,
        plain=np.zeros(use.size, bool),
        sd=np.full(use.size, value("chart.uneven")),
    )
    return fit_curve(steps).curve


def card_values(reference: Reference, patches: tuple[str, ...]) -> tuple[Mapping[str, float], Array] | None:
    """Return densities of a card's steps against its paper and the paper's Lab, or None if it is another chart.

    Raises
    ------
    PictureError
        Some steps of the card are there, but not its paper.
    """
    mine = [name for name in reference.names if name in patches]
    if not mine:
        return None
    where = {name: i for i, name in enumerate(reference.names)}
    if "paper" not in where:
        raise PictureError(
            "the file has steps of the card but not its paper",
            mend="Measure the bare paper too: name it paper",
        )
    light = reference.xyz[:, 1]
    paper = where["paper"]
    return {name: float(np.log10(light[paper] / light[where[name]])) for name in mine}, reference.lab[paper]
