"""What a maker says of the card or the chart in a photograph, as text, made ready for the reader."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import lab_to_xyz
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.daybook.measures import measures
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import Reference, read_reference
from inkhorn.imaging.card.layout import BAR
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told
from inkhorn.quantities import Quantity, read_quantity

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


def card_readings(
    name: str, *, bar: str | None = None, chart: str | None = None
) -> tuple[dict[str, Any], ...]:
    """Return the readings that keep in a workshop what a maker measured of a card.

    Parameters
    ----------
    name : str
        What the card is called.
    bar : str, optional
        Length of its bar.
    chart : str, optional
        A file of the measured colours of its paper and steps.
    """
    out: list[dict[str, Any]] = []
    common = {"kind": "reading", "of": f"card:{name}"}
    if bar is not None:
        bar_length(bar)
        out.append({**common, "what": "bar", "value": bar})
    if chart is not None:
        reference = read_reference(chart)
        if "paper" not in reference.names:
            raise PictureError(
                "the file has no paper, so it is not of a card",
                where=chart,
                mend="Measure the card's bare paper too: name it paper",
            )
        # numbers-in-code: three digits of Lab are more than any instrument has
        rows = {
            n: [round(float(v), 3) for v in lab]
            for n, lab in zip(reference.names, reference.lab, strict=True)
        }
        steps = {n: dict(zip("Lab", lab, strict=True)) for n, lab in rows.items()}
        out.append({**common, "what": "steps", "value": steps})
    if not out:
        raise PictureError(
            "nothing was said of the card", mend="Give --bar, or --chart with its measured steps"
        )
    return tuple(out)


def card_told(book: Sequence[Recorded], at: datetime) -> tuple[Told | None, str]:
    """Return what a daybook's effective entries say of the card in a picture taken at a time, and a text that tells it apart.

    The last that was told before it holds, for cards are printed anew; a card told only later is
    taken to be the same one.
    """
    last: dict[str, Reading] = {}
    for what in ("bar", "steps"):
        told = [e.entry for e in book if isinstance(e.entry, Reading) and e.entry.subject[0] == "card"]
        mine = sorted((r for r in told if r.what == what), key=lambda r: r.at)
        before = [r for r in mine if r.at <= at]
        if mine:
            last[what] = (before or mine[:1])[-1]
    if not last:
        return None, ""
    bar, steps = (last[what].value if what in last else None for what in ("bar", "steps"))
    length = bar.value if isinstance(bar, Quantity) else None
    reference = _reference(steps) if isinstance(steps, Mapping) else None
    text = json.dumps([length, dict(steps) if isinstance(steps, Mapping) else None], sort_keys=True)
    return Told(bar=length, reference=reference, once=True), text


def _reference(steps: Mapping[str, Any]) -> Reference:
    lab = np.array([[each[axis] for axis in "Lab"] for each in steps.values()], dtype=np.float64)
    return Reference(names=tuple(steps), xyz=lab_to_xyz(lab), grid=None)
