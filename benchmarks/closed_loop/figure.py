"""The share of workshops matched against trials made, a line a player, in the look of the manual's figures."""

from __future__ import annotations

import itertools
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from benchmarks.closed_loop.table import by_player, reach, share_within

FIGURES = Path(__file__).parents[2] / "docs" / "figures"
#: Figures that take hours of play, and so are not among those that `make figures` draws anew.
MEASURED = Path(__file__).parents[2] / "docs" / "measured"
sys.path.insert(0, str(FIGURES))

import figure_look as look  # noqa: E402

#: What each player is called beside its line, and which line it gets.
NAMES = {
    "omniscient": ("knows everything", 2), "measured": ("all but the page", 1), "inkhorn": ("inkhorn", 0), "gp": ("Gaussian process", 1),
    "tpe": ("Parzen trees", 3), "rule": ("rule of thumb", 2),
}  # fmt: skip
FURTHEST = 30


def draw(records: Sequence[dict[str, Any]], path: Path = MEASURED / "closed-loop.svg") -> Path:
    """Write the figure and return where."""
    seeds = {s for s, ok in reach(records).items() if ok}
    players = by_player(records)

    def figure() -> Any:
        sheet, axes = look.sheet("matched, per cent", "trials", right=116)
        ends = []
        for name, (said, which) in NAMES.items():
            games = [g for g in players.get(name, []) if g["seed"] in seeds]
            if not games:
                continue
            x = np.arange(1, FURTHEST + 1)
            y = 100 * np.array([share_within(games, int(k)) for k in x])
            axes.plot(x, y, drawstyle="steps-post", **look.LINES[which])
            ends.append([float(y[-1]), said])
        ends.sort()
        for low, high in itertools.pairwise(ends):
            high[0] = max(high[0], low[0] + 7)
        for y, said in ends:
            look.say(axes, FURTHEST + 0.6, y, said)
        axes.set_xlim(1, FURTHEST)
        axes.set_ylim(0, 100)
        return sheet

    look.write(figure, path)
    return path
