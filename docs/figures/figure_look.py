"""The look of every figure: thin black lines, direct labels, soft bands; 390 px wide, and the same in print."""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Sequence
from io import StringIO
from pathlib import Path

import matplotlib as mpl

mpl.use("Agg")

import numpy as np
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from inkhorn.colour.srgb import encode_bytes
from inkhorn.handbook.load import row

GROUND, INK, SOFT, RULE = "#f8f8f5", "#111312", "#51585a", "#c9cecc"
#: First, second, third and fourth line of a figure: told apart by dash and weight, so in grey print too.
LINES = (
    {"color": INK, "linestyle": "-", "linewidth": 1.8},
    {"color": INK, "linestyle": (0, (6, 2)), "linewidth": 1.5},
    {"color": SOFT, "linestyle": (0, (1.2, 1.6)), "linewidth": 2.0},
    {"color": SOFT, "linestyle": (0, (6, 2, 1.2, 2)), "linewidth": 1.4},
)
BANDS = (
    {"facecolor": INK, "alpha": 0.13, "linewidth": 0},
    {"facecolor": "none", "edgecolor": SOFT, "alpha": 0.45, "hatch": "////", "linewidth": 0},
    {"facecolor": "none", "edgecolor": SOFT, "linewidth": 0.9, "linestyle": (0, (1.2, 1.6))},
    {"facecolor": SOFT, "alpha": 0.10, "linewidth": 0},
)
#: What a reader's device may have; the figures are laid out with the widest of them.
FONTS = "'Source Sans 3', 'Noto Sans', Candara, Frutiger, 'Segoe UI', Roboto, 'Liberation Sans', sans-serif"
WIDTH, POINTS = 390, 72
DRAWS = 2000
_RC = {
    "svg.fonttype": "none",
    "svg.hashsalt": "inkhorn",
    "font.family": "DejaVu Sans",
    "font.size": 12,
    "axes.linewidth": 0.8,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.labelsize": 12,
    "axes.titlesize": 12,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.labelsize": 11.5,
    "ytick.labelsize": 11.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "figure.facecolor": GROUND,
    "axes.facecolor": "none",
    "hatch.linewidth": 0.5,
}


def sheet(up: str, along: str, *, height: int = 290, left: int = 48, right: int = 16) -> tuple[Figure, Axes]:
    """Return an empty figure; what goes up is written across its top, what goes along under it."""
    mpl.rcParams.update(_RC)
    figure = plt.figure(figsize=(WIDTH / POINTS, height / POINTS), dpi=POINTS)
    top, bottom = 34, 44
    axes = figure.add_axes(
        (left / WIDTH, bottom / height, (WIDTH - left - right) / WIDTH, (height - top - bottom) / height)
    )
    figure.text(12 / WIDTH, 1 - 13 / height, up, va="center", ha="left", color=INK, fontsize=12)
    axes.set_xlabel(along, labelpad=5)
    axes.tick_params(length=3.5, width=0.8)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    return figure, axes


def rng(name: str) -> np.random.Generator:
    """Return a generator that depends on a name alone."""
    return np.random.default_rng(zlib.crc32(name.encode()))


def drawn(name: str, n: int = DRAWS) -> np.ndarray:
    """Return ``(n, 1)`` draws of a handbook row, the same every time: what goes along is the second axis."""
    return row(name).draw(n, rng(name))[:, None]


def line(axes: Axes, x: np.ndarray, y: np.ndarray, which: int = 0, **more: object) -> None:
    """Draw one curve."""
    axes.plot(x, y, **{**LINES[which], "solid_capstyle": "butt", **more})


def band(axes: Axes, x: np.ndarray, draws: np.ndarray, which: int = 0, *, middle: bool = True) -> None:
    """Draw the 5 to 95 per cent band of draws ``(n, len(x))``, and their median."""
    low, mid, high = np.percentile(draws, (5, 50, 95), axis=0)
    axes.fill_between(x, low, high, **BANDS[which])
    if middle:
        line(axes, x, mid, which)


def say(axes: Axes, x: float, y: float, text: str, *, soft: bool = False, **more: object) -> None:
    """Write beside a curve, on the ground's own colour so that a band does not run through it."""
    style = {
        "color": SOFT if soft else INK,
        "fontsize": 11.5,
        "va": "center",
        "ha": "left",
        "multialignment": "left",
    }
    axes.text(x, y, text, **{**style, **more})


def mark(axes: Axes, at: float, text: str, *, y: float, ha: str = "left") -> None:
    """Draw a thin upright line at a limit and name it."""
    axes.axvline(at, color=SOFT, linewidth=0.8, linestyle=(0, (3, 3)))
    gap = 3 if ha == "left" else -3
    axes.annotate(
        text, (at, y), (gap, 0), textcoords="offset points", color=SOFT, fontsize=11, ha=ha, va="center"
    )


def swatches(
    figure: Figure, colours: Sequence[np.ndarray], *, bare: np.ndarray, left: float, right: float, y: float
) -> None:
    """Lay a row of true colours (linear sRGB) in a strip of bare skin; positions are shares of the figure."""
    height = 20 / (figure.get_figheight() * POINTS)
    figure.add_artist(Rectangle((left, y), right - left, height, color=_hex(bare), linewidth=0))
    step = (right - left) / len(colours)
    for i, colour in enumerate(colours):
        spot = (left + (i + 0.14) * step, y + 0.2 * height)
        figure.add_artist(Rectangle(spot, 0.72 * step, 0.6 * height, color=_hex(colour), linewidth=0))


def _hex(linear: np.ndarray) -> str:
    return "#" + "".join(f"{int(v):02x}" for v in encode_bytes(np.clip(linear, 0, 1)))


def svg(draw: Callable[[], Figure]) -> str:
    """Return a figure as SVG text: words kept as words, no date, the same bytes every time."""
    figure = draw()
    out = StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    plt.close(figure)
    text = out.getvalue()
    text = text.replace("'DejaVu Sans'", FONTS).replace("DejaVu Sans", FONTS)
    text = re.sub(r'(<svg [^>]*?)height="([\d.]+)pt"', r'\1height="\2"', text, count=1)
    text = re.sub(r'(<svg [^>]*?)width="([\d.]+)pt"', r'\1width="\2"', text, count=1)
    return "\n".join(part.rstrip() for part in text.splitlines()) + "\n"


def write(draw: Callable[[], Figure], path: Path) -> None:
    """Draw one figure into a file."""
    path.write_text(svg(draw), "utf-8")
