"""The shelf: vessels as outlines in their real proportions, filled to their level.

A vessel is a solid of revolution whose outline is known only by the word for
it (a tub, a jar); its size follows from its capacity, one scale for the whole
shelf.  The level of a volume is where the solid below it holds that volume.
The surface is drawn as its probability: at each height the ink is as opaque as
it is sure that the liquor reaches that high, so the less is known of the
volume, the softer the edge.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import attrs

from inkhorn.web.swatch import Swatch, writes

Outline = tuple[tuple[float, float], ...]

# (height, radius) from the bottom to the rim, both in units of the height.
_OUTLINES: dict[str, Outline] = {
    "tub": ((0, 0.62), (0.04, 0.66), (1, 0.78)),
    "pan": ((0, 0.86), (0.1, 0.98), (1, 1.08)),
    "pot": (
        *((0, 0.36), (0.03, 0.43), (0.1, 0.5), (0.2, 0.555), (0.32, 0.59), (0.45, 0.605), (0.58, 0.6)),
        *((0.7, 0.575), (0.8, 0.54), (0.88, 0.505), (0.93, 0.49), (0.97, 0.495), (1, 0.52)),
    ),
    "jar": (
        *((0, 0.3), (0.02, 0.33), (0.06, 0.345), (0.68, 0.345), (0.76, 0.335), (0.82, 0.305)),
        *((0.86, 0.265), (0.89, 0.245), (0.97, 0.245), (1, 0.26)),
    ),
    "bottle": ((0, 0.2), (0.03, 0.22), (0.55, 0.22), (0.7, 0.13), (0.76, 0.08), (1, 0.08)),
    "cup": ((0, 0.28), (0.03, 0.33), (0.1, 0.375), (0.3, 0.42), (0.6, 0.46), (1, 0.5)),
    "bowl": (
        (0, 0.34),
        (0.05, 0.5),
        (0.12, 0.64),
        (0.25, 0.81),
        (0.4, 0.93),
        (0.6, 1.02),
        (0.8, 1.07),
        (1, 1.1),
    ),
    "horn": ((0, 0.02), (0.03, 0.045), (0.15, 0.075), (0.35, 0.115), (0.6, 0.155), (0.8, 0.18), (1, 0.2)),
    "shell": ((0, 0.3), (0.05, 0.7), (0.15, 1.1), (0.3, 1.42), (0.5, 1.66), (0.75, 1.82), (1, 1.9)),
    "plain": ((0, 0.38), (0.05, 0.43), (1, 0.45)),
}
_WORDS = {
    "tub": ("tub", "vat", "bucket", "pail", "trough", "barrel"),
    "pan": ("pan", "skillet", "tray"),
    "pot": ("pot", "kettle", "cauldron", "crock"),
    "jar": ("jar", "glass"),
    "bottle": ("bottle", "flask", "phial", "vial"),
    "cup": ("cup", "mug", "beaker"),
    "bowl": ("bowl", "dish", "basin", "saucer"),
    "horn": ("horn", "inkhorn"),
    "shell": ("shell",),
}
_TALLEST = 124.0
_WIDEST = 156.0
_ROOM = 4.0


@attrs.frozen(kw_only=True)
class Drawing:
    """One vessel ready to be drawn; lengths in CSS pixels.

    ``stops`` are (offset from the bottom, opacity) of the soft surface.
    """

    name: str
    width: float
    height: float
    outline: str
    rim: tuple[float, float, float]
    rim_known: bool
    stops: tuple[tuple[float, float], ...]
    swatch: Swatch | None
    volume: Mapping[str, Any] | None


def shape_of(*names: str) -> str:
    """Return the outline that the words for a vessel call up, ``plain`` if none does."""
    heard = {word for name in names for word in re.findall(r"[a-z]+", name.lower())}
    heard |= {word.removesuffix("s") for word in heard}
    for shape, called in _WORDS.items():
        if heard & set(called):
            return shape
    return "plain"


def frustum(h: float, r0: float, r1: float) -> float:
    """Return the volume of a cone's slice of height ``h`` between two radii."""
    return math.pi * h * (r0 * r0 + r0 * r1 + r1 * r1) / 3


def capacity_of(outline: Outline) -> float:
    """Return the volume of an outline turned about its axis, in cubes of its height."""
    return sum(frustum(h1 - h0, r0, r1) for (h0, r0), (h1, r1) in pairwise(outline))


def level(outline: Outline, share: float) -> float:
    """Return the height (0 to 1) below which ``share`` of the whole volume lies."""
    wanted = min(max(share, 0), 1) * capacity_of(outline)
    for (h0, r0), (h1, r1) in pairwise(outline):
        part = frustum(h1 - h0, r0, r1)
        if wanted > part:
            wanted -= part
            continue
        low, high = 0.0, 1.0
        for _ in range(40):  # halving: the slice's volume grows with its height
            t = (low + high) / 2
            if frustum(t * (h1 - h0), r0, r0 + t * (r1 - r0)) < wanted:
                low = t
            else:
                high = t
        return h0 + (low + high) / 2 * (h1 - h0)
    return 1


def draw(
    vessels: Mapping[str, Mapping[str, Any]],
    capacities: Mapping[str, float | None],
    made_of: Mapping[str, str],
) -> list[Drawing]:
    """Lay the vessels of an estimate out for the shelf.

    Parameters
    ----------
    vessels : mapping
        The estimate's figures by vessel.
    capacities : mapping
        ml a vessel holds, or None where nobody said.
    made_of : mapping
        What a vessel is made of or called besides its name.
    """
    sizes = {name: _size(name, figures, capacities, made_of) for name, figures in vessels.items()}
    tallest = max((edge for _, edge, _ in sizes.values()), default=1.0)
    widest = max((2 * edge * max(r for _, r in outline) for outline, edge, _ in sizes.values()), default=1.0)
    scale = min(_TALLEST / tallest, _WIDEST / widest)
    return [_drawing(name, vessels[name], *sizes[name], scale=scale) for name in vessels]


def _size(
    name: str, figures: Mapping[str, Any], capacities: Mapping[str, float | None], made_of: Mapping[str, str]
) -> tuple[Outline, float, float | None]:
    """Return the outline, the height in cm and the capacity if somebody said it."""
    outline = _OUTLINES[shape_of(name, made_of.get(name, ""))]
    told = capacities.get(name)
    volume = figures.get("volume") or {}
    # Nobody said how large it is: it holds at least what is likely in it, with room above.
    holds = told or max(float(volume.get("p95", 0)) / 0.8, 10)
    return outline, (holds / capacity_of(outline)) ** (1 / 3), told


def _drawing(
    name: str, figures: Mapping[str, Any], outline: Outline, edge: float, told: float | None, *, scale: float
) -> Drawing:
    height = edge * scale
    widest = max(r for _, r in outline) * height
    centre = widest + _ROOM
    holds = capacity_of(outline) * edge**3

    def at(h: float, r: float) -> str:
        return f"{centre + r * height:.1f} {_ROOM + (1 - h) * height:.1f}"

    # From the left rim down, across the bottom and up to the right rim: open on top.
    left = [at(h, -r) for h, r in reversed(outline)]
    right = [at(h, r) for h, r in outline]
    rim = outline[-1][1] * height
    volume = figures.get("volume")
    return Drawing(
        name=name,
        width=2 * centre,
        height=height + 2 * _ROOM,
        outline=f"M {' L '.join([*left, *right])}",
        rim=(centre - rim, centre + rim, _ROOM),
        rim_known=told is not None,
        stops=_stops(outline, volume, holds) if volume else (),
        swatch=Swatch.of(figures["dry_lab"]) if figures.get("dry_lab") and writes(figures) else None,
        volume=volume,
    )


def _stops(outline: Outline, volume: Mapping[str, Any], holds: float) -> tuple[tuple[float, float], ...]:
    """Return where the surface fades: the chance that the liquor reaches each height."""
    marks: Sequence[tuple[str, float]] = (
        ("p05", 0.95),
        ("p25", 0.75),
        ("median", 0.5),
        ("p75", 0.25),
        ("p95", 0.05),
    )
    heights = [(level(outline, float(volume[key]) / holds), chance) for key, chance in marks]
    return ((heights[0][0], 1), *heights, (heights[-1][0], 0))
