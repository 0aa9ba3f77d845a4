"""What any player can reckon from the book: how far the last stroke is off, how thick the ink is, what is in it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from benchmarks.closed_loop.game import Game

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.handbook.load import group

#: mPa s that each word of body stands for, about (common practice); and water's own at a room's warmth.
BODY = {"watery": 1.2, "thin": 1.8, "flows well": 2.8, "thick": 5.0, "drags": 8.0}
_WATER = 1.05
DEPTH = tuple(str(w) for w in group("words.depth")["order"])


def densities(game: Game) -> tuple[np.ndarray, np.ndarray]:
    """Return the channel densities read of the last trial and of the page, R G B."""
    trial = f"trial:t{len(game.turns)}"
    read = [e["value"] for e in game.book if e.get("of") == trial and e.get("what") == "optical_density"]
    page = game.dealt.facts["optical_density"]
    mine = np.mean([[r[c] for c in "RGB"] for r in read], axis=0)
    return mine, np.array([page[c] for c in "RGB"])


def difference(game: Game) -> float:
    """Return the CIEDE2000 between the last stroke as read and the page as measured, on the page's bare skin."""
    mine, page = densities(game)
    bare = game.dealt.facts["support_lab"]
    rgb = lab_to_linear([bare[c] for c in "Lab"])
    return float(ciede2000(linear_to_lab(rgb * 10.0**-mine), linear_to_lab(rgb * 10.0**-page)))


def page_as_measured(game: Game) -> np.ndarray:
    """Return the colour of the page's ink by the mean of all its measurements, on its bare skin: L*, a*, b*."""
    page = f"exemplar:{game.dealt.page}"
    read = [e["value"] for e in game.book if e.get("of") == page and e.get("what") == "optical_density"]
    density = np.mean([[r[c] for c in "RGB"] for r in read], axis=0)
    bare = game.dealt.facts["support_lab"]
    return np.asarray(linear_to_lab(lab_to_linear([bare[c] for c in "Lab"]) * 10.0**-density))


def thickness(reading: Mapping[str, Any] | None) -> float | None:
    """Return the viscosity in mPa s that a reading of thickness stands for, or None."""
    if reading is None:
        return None
    if reading["what"] == "body":
        return BODY[str(reading["value"])]
    if reading["what"] == "discharge":
        return _WATER * float(str(reading["value"]).split()[0]) / float(str(reading["water"]).split()[0])
    return None


def out_of_band(game: Game, viscosity: float) -> float:
    """Return by how many e-folds a viscosity is out of the pen's band: above 0 too thick, below 0 too thin."""
    low, high = game.band
    return max(math.log(viscosity / high), 0.0) + min(math.log(viscosity / low), 0.0)
