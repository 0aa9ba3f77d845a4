"""Take the card's steps and its bare paper out of a photograph."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.srgb import decode, encode
from inkhorn.handbook.load import value
from inkhorn.imaging.calibrate.fit import Steps
from inkhorn.imaging.card.find import Found
from inkhorn.imaging.card.layout import Card, Patch, Rect
from inkhorn.imaging.picture import Picture

Array = NDArray[np.float64]

# numbers-in-code: groups of pixels that stand for the spread of light in a step
GROUPS = 24


@attrs.frozen(kw_only=True, eq=False)
class Seen:
    """The card as recorded.

    Attributes
    ----------
    steps : Steps
        Those that could be taken.
    patches : tuple of Patch
        The same steps' places.
    paper : ndarray (M, 3)
        Recorded light of bare paper at M places.
    places : ndarray (M, 2)
        Where, mm.
    burnt : float
        Share of the bare paper that is recorded as full white.
    """

    steps: Steps
    patches: tuple[Patch, ...]
    paper: Array
    places: Array
    burnt: float


def take_steps(picture: Picture, found: Found, measured: Mapping[str, float] | None = None) -> Seen:
    """Return the steps of a card that was found.

    Parameters
    ----------
    measured : mapping, optional
        Densities against the paper that the maker measured, by the name of the patch.
    """
    measured = measured or {}
    recorded: list[Array] = []
    white: list[Array] = []
    kept: list[Patch] = []
    paper: list[Array] = []
    places: list[Array] = []
    burnt: list[float] = []
    for patch in found.card.patches:
        inside = pixels(picture, found, patch.sample(value("card.rim")))
        beside = [pixels(picture, found, band) for band in bands(found.card, patch)]
        good = [band for band in beside if len(band) >= GROUPS]
        if len(inside) < GROUPS or not good:
            continue
        levels = np.array([np.median(band, axis=0) for band in good])
        if len(levels) > 1 and levels[1].mean() < levels[0].mean() * (1 - value("card.paper_unlike")):
            levels = levels[:1]  # the strip lies over the inner band
        middles = [np.array(_middle(band)) for band in bands(found.card, patch)]
        recorded.append(_groups(inside))
        white.append(np.exp(np.log(np.maximum(levels, 1e-4)).mean(axis=0)))
        paper.extend(levels)
        places.extend(middles[: len(levels)])
        burnt.append(float((good[0].max(axis=1) >= 1 - 1e-6).mean()))
        kept.append(patch)
    known, own = np.array([_known(patch, measured) for patch in kept]).reshape(-1, 2).T
    share, period = np.array([p.share for p in kept]), np.array([p.period for p in kept])
    screen = np.array([p.kind == "screen" for p in kept], bool)
    return Seen(
        steps=Steps(
            recorded=np.array(recorded).reshape(-1, 3, GROUPS),
            blended=decode(encode(np.array(recorded).reshape(-1, 3, GROUPS)).mean(axis=2)),
            white=np.array(white).reshape(-1, 3),
            screen=screen,
            share=share,
            period=np.where(period > 0, period, 1.0),
            known=known,
            plain=np.array([p.kind == "grey" and p.name not in measured for p in kept], bool),
            sd=own,
        ),
        patches=tuple(kept),
        paper=np.array(paper).reshape(-1, 3),
        places=np.array(places).reshape(-1, 2),
        burnt=float(np.median(burnt)) if burnt else 0.0,
    )


def _known(patch: Patch, measured: Mapping[str, float]) -> tuple[float, float]:
    """Return a step's density against paper where something is known of it, and the spread of one step."""
    step = value("card.step_sd")
    if patch.name in measured:
        return measured[patch.name], value("card.measured_sd")
    if patch.kind != "grey":
        return float("nan"), step
    black = 10 ** -value("card.black")
    nominal = -float(np.log10(black + (1 - black) * decode(np.array(patch.tint))))
    return nominal, float(np.hypot(step, value("card.grey_sd") * nominal))


def bands(card: Card, patch: Patch) -> tuple[Rect, Rect]:
    """Return two strips of bare paper beside a step: on the card's outer side, then on the inner."""
    left, top, width, height = patch.rect
    # numbers-in-code: the drawing of our own card, mm
    near, wide = 0.6, 1.8
    if top < card.marker:  # the upper row
        return (left, top - near - wide, width, wide), (left, top + height + near, width, wide)
    before, behind = (left - near - wide, top, wide, height), (left + width + near, top, wide, height)
    return (before, behind) if left < card.width / 2 else (behind, before)


def _middle(rect: Rect) -> tuple[float, float]:
    return rect[0] + rect[2] / 2, rect[1] + rect[3] / 2


def pixels(picture: Picture, found: Found, rect: Rect) -> NDArray[np.float32]:
    """Return recorded linear light of the pixels whose middle lies in a rectangle, (n, 3)."""
    left, top, width, height = rect
    corners = np.array([(left, top), (left + width, top), (left + width, top + height), (left, top + height)])
    at = found.place.to_px(corners)
    low = np.maximum(np.floor(at.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(at.max(axis=0)).astype(int) + 1, picture.shape[::-1])
    if (high <= low).any():
        return np.empty((0, 3), np.float32)
    # over a step the lens bends a line by far less than a pixel: each side is the line between its corners
    x, y = np.arange(low[0], high[0]), np.arange(low[1], high[1])[:, None]
    ways = np.roll(at, -1, axis=0) - at
    ways *= np.sign(ways[0, 0] * ways[1, 1] - ways[0, 1] * ways[1, 0])
    inside = np.ones((len(y), x.size), bool)
    for corner, way in zip(at, ways, strict=True):
        inside &= way[0] * (y - corner[1]) >= way[1] * (x - corner[0])
    rows, columns = slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))
    inside &= picture.valid[rows, columns]
    return np.asarray(picture.part(rows, columns)[inside], dtype=np.float32)


def _groups(light: NDArray[np.float32]) -> Array:
    """Return each channel sorted and averaged in groups of equal size, (3, GROUPS)."""
    ordered = np.sort(
        np.ascontiguousarray(light.T), axis=1
    )  # one channel lies in a row: much the quicker to sort
    edges = np.linspace(0, len(light), GROUPS + 1).round().astype(int)
    sums = np.add.reduceat(ordered, edges[:-1], axis=1, dtype=np.float64)
    return np.asarray(sums / np.diff(edges))
