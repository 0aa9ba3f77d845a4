"""What a maker says of the card or the chart in a photograph, as text, made ready for the reader."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from inkhorn.daybook.measures import measures
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import read_reference
from inkhorn.imaging.card.layout import BAR
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told
from inkhorn.quantities import read_quantity

LEAST, MOST = 0.8, 1.25
"""Between these shares of what it should be the bar of a card is believed."""


def told(
    *,
    bar: str | None = None,
    chart: str | None = None,
    corners: str | None = None,
    chart_picture: str | None = None,
) -> Told:
    """Return what was said; each may be left out.

    Parameters
    ----------
    bar : str
        A length: ``"98.4 mm"``.
    chart : str
        A file of measured colours.
    corners : str
        Four points ``"x,y x,y x,y x,y"`` in px.
    chart_picture : str
        A picture of the chart by itself.
    """
    if chart is None and (corners or chart_picture):
        raise PictureError(
            "a chart is spoken of, but not its measured colours", where="--chart", mend="Give its file"
        )
    return Told(
        bar=None if bar is None else bar_length(bar),
        reference=None if chart is None else read_reference(chart),
        chart_picture=None if chart_picture is None else load_picture(chart_picture),
        chart_corners=None if corners is None else four_points(corners),
    )


def bar_length(text: str) -> float:
    """Return the length of the card's bar in mm."""
    length = read_quantity(text, expect=("length",), measures=measures(), where="--bar").value
    if not LEAST * BAR <= length <= MOST * BAR:
        raise PictureError(
            f"a bar of {length:g} mm is too far from {BAR:.0f} mm",
            where="--bar",
            mend="Measure the bar from end mark to end mark, and print at actual size",
        )
    return length


def four_points(text: str) -> NDArray[np.float64]:
    """Return four points (4, 2)."""
    numbers = [float(number) for number in re.findall(r"-?[0-9]+(?:\.[0-9]+)?", text)]
    if len(numbers) != 8:
        raise PictureError(
            f"{text!r} is not four points",
            where="--chart-corners",
            mend='Write them as "120,80 900,85 905,600 118,596"',
        )
    return np.array(numbers).reshape(4, 2)
