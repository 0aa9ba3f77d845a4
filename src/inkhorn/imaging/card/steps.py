"""Take the card's steps and its bare paper out of a photograph."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
import cv2
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
        good = [band for band in beside if band.size >= GROUPS]
        if inside.size < GROUPS or not good:
            continue
        levels = np.array([band.median() for band in good])
        if len(levels) > 1 and levels[1].mean() < levels[0].mean() * (1 - value("card.paper_unlike")):
            levels = levels[:1]  # the strip lies over the inner band
        middles = [np.array(_middle(band)) for band in bands(found.card, patch)]
        recorded.append(inside.groups())
        white.append(np.exp(np.log(np.maximum(levels, 1e-4)).mean(axis=0)))
        paper.extend(levels)
        places.extend(middles[: len(levels)])
        burnt.append(good[0].burnt)
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


@attrs.frozen(kw_only=True, eq=False)
class Lights:
    """The recorded light of the pixels of one place, counted by level.

    Attributes
    ----------
    light : ndarray (K,)
        Of each level, rising.
    counts : ndarray (3, K)
        Pixels at each level or below it, by channel.
    burnt : float
        Share of the pixels with a channel at full white.
    """

    light: Array
    counts: Array
    burnt: float

    @property
    def size(self) -> int:
        """Return how many pixels there are."""
        return int(self.counts[0, -1])

    def median(self) -> Array:
        """Return the median of each channel, (3,)."""
        ranks = np.array([(self.size - 1) // 2, self.size // 2])
        return np.array([self.light[np.searchsorted(c, ranks, side="right")].mean() for c in self.counts])

    def groups(self) -> Array:
        """Return each channel sorted and averaged in groups of equal size, (3, GROUPS)."""
        edges = np.linspace(0, self.size, GROUPS + 1).round()
        out = []
        for counts in self.counts:
            own = np.diff(counts, prepend=0)
            below = np.concatenate([[0.0], np.cumsum(own * self.light)])
            level = np.minimum(np.searchsorted(counts, edges, side="left"), counts.size - 1)
            sums = below[level] + (edges - (counts - own)[level]) * self.light[level]
            out.append(np.diff(sums) / np.diff(edges))
        return np.array(out)


_NONE = Lights(light=np.zeros(1), counts=np.zeros((3, 1)), burnt=0.0)


def pixels(picture: Picture, found: Found, rect: Rect) -> Lights:
    """Return the recorded linear light of the pixels whose middle lies in a rectangle."""
    left, top, width, height = rect
    corners = np.array([(left, top), (left + width, top), (left + width, top + height), (left, top + height)])
    at = found.place.to_px(corners)
    low = np.maximum(np.floor(at.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(at.max(axis=0)).astype(int) + 1, picture.shape[::-1])
    if (high <= low).any():
        return _NONE
    rows, columns = slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))
    inside = (
        _within(at, np.arange(low[0], high[0]), np.arange(low[1], high[1])) & picture.valid[rows, columns]
    )
    codes, light = picture.levels(rows, columns)
    mask, size = inside.view(np.uint8), light.size
    counts = [cv2.calcHist([codes], [k], mask, [size], [0, size]).ravel() for k in range(3)]
    whole = float(counts[0].sum())
    burnt = max(float(c[-1]) for c in counts)
    if burnt:
        burnt = float(np.count_nonzero((codes == size - 1).any(axis=2) & inside))
    return Lights(
        light=light.astype(np.float64),
        counts=np.cumsum(np.array(counts, dtype=np.float64), axis=1),
        burnt=burnt / max(1.0, whole),
    )


def _within(at: Array, x: NDArray[np.int64], y: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which pixels lie in a convex figure with corners ``at`` (n, 2): in each row, from its left side to its right.

    Over a step the lens bends a line by far less than a pixel: each side is the line between its corners.
    """
    ways = np.roll(at, -1, axis=0) - at
    ways *= np.sign(ways[0, 0] * ways[1, 1] - ways[0, 1] * ways[1, 0])
    first, last = np.full(y.size, -np.inf), np.full(y.size, np.inf)
    for corner, way in zip(at, ways, strict=True):
        across = way[0] * (y - corner[1])
        if way[1] > 0:
            last = np.minimum(last, corner[0] + across / way[1])
        elif way[1] < 0:
            first = np.maximum(first, corner[0] + across / way[1])
        else:
            last = np.where(across >= 0, last, -np.inf)
    return np.asarray((x >= first[:, None]) & (x <= last[:, None]))
