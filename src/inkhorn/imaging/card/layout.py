"""Where everything on the card is, in millimetres from its upper left corner, x to the right, y down.

One layout serves two sizes. Square markers stand at the corners and on three
sides; between them, along three sides, stand the steps: screens of black lines
whose share of black is known from geometry, full blacks and, unless the card
is made for a printer that has black only, plain greys. In the middle is the frame
in which the strip lies, at the foot the bar that the maker measures.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType

import attrs
import numpy as np
from numpy.typing import NDArray

Rect = tuple[float, float, float, float]
"""Left, top, width, height, mm."""

# numbers-in-code: the drawing of our own card, mm; nothing here is measured from the world
_SIZES: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {"a6": (148.0, 105.0, 10.0), "a5": (210.0, 148.0, 14.0)}
)
_MARGIN, _QUIET, _GAP, _INNER, _FOOT = 4.0, 2.6, 1.4, 3.4, 6.0
BAR = 100.0
_UNIT = 25.4 / 300
PERIODS = (3 * _UNIT, 6 * _UNIT, 12 * _UNIT)
_SCREEN_SHARES = (1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6)
_TINTS = (0.88, 0.75, 0.6, 0.45, 0.3, 0.17)
_DIAGONAL = 2**0.5

#: How many markers a card has; those of the n-th kind of card are numbered from n times this.
MARKERS = 7


@attrs.frozen(kw_only=True)
class Patch:
    """One step of the card.

    Attributes
    ----------
    name : str
        As a file of measured values calls it.
    rect : left, top, width, height, mm
    kind : str
        ``"screen"`` (black lines at 45 degrees), ``"black"``, ``"grey"`` (left to the printer).
    share : float
        Share of the screen that is black; 1 for black, 0 for a grey.
    period : float
        Of the lines, mm, measured across them; 0 unless a screen.
    tint : float
        Of a grey: the encoded sRGB value it is printed with, 0 to 1.
    """

    name: str
    rect: Rect
    kind: str
    share: float = 0.0
    period: float = 0.0
    tint: float = 0.0

    def sample(self, rim: float) -> Rect:
        """Return the part to be measured, ``rim`` mm inside; a whole number of line periods wide.

        Along x the lines of a screen come back after ``period`` times the root of
        two, so every row of the sample holds exactly the share of black.
        """
        left, top, width, height = self.rect
        wide = width - 2 * rim
        if self.period:
            step = self.period * _DIAGONAL
            wide = int(wide / step) * step
        return (left + (width - wide) / 2, top + rim, wide, height - 2 * rim)


@attrs.frozen(kw_only=True, eq=False)
class Card:
    """A kind of card.

    Attributes
    ----------
    size : str
        ``"a6"`` or ``"a5"``.
    black_only : bool
        Made for black only: no plain greys.
    width, height : float
        mm.
    marker : float
        Side of a marker, mm.
    markers : mapping
        Number of a marker to its upper left corner, mm.
    patches : tuple of Patch
    window : Rect
        The frame for the strip.
    bar : Rect
        The measuring bar, `BAR` mm long.
    """

    size: str
    black_only: bool
    width: float
    height: float
    marker: float
    markers: Mapping[int, tuple[float, float]]
    patches: tuple[Patch, ...]
    window: Rect
    bar: Rect

    def corners(self, number: int) -> NDArray[np.float64]:
        """Return the four corners of a marker, clockwise from its upper left, (4, 2) mm."""
        left, top = self.markers[number]
        return np.array([left, top]) + self.marker * np.array([(0, 0), (1, 0), (1, 1), (0, 1)])


@functools.cache
def card(size: str, *, black_only: bool = False) -> Card:
    """Return the card of a size, ``"a6"`` or ``"a5"``."""
    width, height, side = _SIZES[size]
    first = MARKERS * (list(_SIZES).index(size) * 2 + int(black_only))
    right, foot, middle = width - _MARGIN - side, height - _MARGIN - side, (width - side) / 2
    half = (height - side) / 2
    places = (
        (_MARGIN, _MARGIN),
        (middle, _MARGIN),
        (right, _MARGIN),
        (right, half),
        (right, foot),
        (_MARGIN, foot),
        (_MARGIN, half),
    )
    inset = _MARGIN + side + _INNER
    window = (inset + 2, inset, width - 2 * inset - 2, height - inset - _MARGIN - side - _FOOT)
    return Card(
        size=size,
        black_only=black_only,
        width=width,
        height=height,
        marker=side,
        markers=MappingProxyType({first + i: place for i, place in enumerate(places)}),
        patches=_patches(_slots(width, height, side), black_only=black_only),
        window=window,
        bar=((width - BAR) / 2, height - _MARGIN - side, BAR, 2.0),
    )


@functools.cache
def card_of_marker(number: int) -> Card | None:
    """Return the card that a marker stands on, or None if it is no marker of ours."""
    kind, sizes = number // MARKERS, list(_SIZES)
    if not 0 <= kind < 2 * len(sizes):
        return None
    return card(sizes[kind // 2], black_only=bool(kind % 2))


def _slots(width: float, height: float, side: float) -> list[Rect]:
    """Return the places of the steps: six on each half of the top, four on each half of both sides."""
    out: list[Rect] = []
    start = _MARGIN + side + _QUIET
    run = (width - side) / 2 - _QUIET - start
    wide = (run - 5 * _GAP) / 6
    for left in (start, (width + side) / 2 + _QUIET):
        out += [(left + i * (wide + _GAP), _MARGIN, wide, side) for i in range(6)]
    run = (height - side) / 2 - _QUIET - start
    high = (run - 3 * _GAP) / 4
    for x in (_MARGIN, width - _MARGIN - side):
        for top in (start, (height + side) / 2 + _QUIET):
            out += [(x, top + i * (high + _GAP), side, high) for i in range(4)]
    return out


def _patches(slots: list[Rect], *, black_only: bool) -> tuple[Patch, ...]:
    """Give each place its step, so that no neighbours and no side hold one part of the scale only."""
    steps: list[tuple[str, str, float, float, float]] = []
    for i, period in enumerate(PERIODS):
        for k, share in enumerate(_SCREEN_SHARES):
            steps.append((f"screen-{'fmc'[i]}{k + 1}", "screen", share, period, 0.0))
    steps += [(f"black-{i + 1}", "black", 1.0, 0.0, 0.0) for i in range(3)]
    if black_only:
        again = [(2, 1), (2, 3), (1, 0), (1, 2), (1, 4), (0, 1), (0, 3), (0, 2), (1, 1), (1, 3)]
        steps += [
            (f"screen-{'fmc'[i]}{k + 1}b", "screen", _SCREEN_SHARES[k], PERIODS[i], 0.0) for i, k in again
        ]
    else:
        greys = [*_TINTS, *_TINTS[:4]]
        steps += [(f"grey-{i + 1}", "grey", 0.0, 0.0, tint) for i, tint in enumerate(greys)]
    stride = 11  # prime to the number of places: neighbours in the list come to lie far apart
    order = [(stride * i) % len(slots) for i in range(len(slots))]
    found = [
        Patch(name=name, rect=slots[at], kind=kind, share=share, period=period, tint=tint)
        for at, (name, kind, share, period, tint) in zip(order, steps, strict=True)
    ]
    return tuple(found)
