"""A trial's darkening as a chart: an SVG file by itself, in words and lines that print in black."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from xml.sax.saxutils import escape

import numpy as np

from inkhorn.report.darkening import Darkening, span

Scale = Callable[[float], float]

# numbers-in-code: layout of a chart, px
_WIDE, _HIGH = 720, 420
_LEFT, _RIGHT, _TOP, _FOOT = 64, 24, 56, 60
_TICKS = (60, 600, 3600, 6 * 3600, 86400, 7 * 86400, 30 * 86400, 365 * 86400)
_STYLE = (
    "text{font:15px sans-serif;fill:#181818}.axis{stroke:#181818;stroke-width:1}"
    ".band{fill:#181818;fill-opacity:.14}.mid{fill:none;stroke:#181818;stroke-width:2}"
    ".grid{stroke:#cfccc4;stroke-width:1}.point{fill:#fcfbf8;stroke:#181818;stroke-width:2}.bar{stroke:#181818;stroke-width:2}"
)


def chart(found: Darkening) -> str:
    """Return the chart: mean channel density against time since the mark, on a scale of ratios.

    The grey band holds nine draws in ten of the estimate, its middle is the line; readings are circles
    with their 90 % bars.
    """
    middle, low, high = (_mean(found, key) for key in ("median", "p05", "p95"))
    seen = np.array([p.density.mean() for p in found.points])
    # numbers-in-code: half of a 90 % band in standard deviations
    bars = np.array([1.645 * np.sqrt(np.mean(p.sd**2)) for p in found.points])
    top = max(0.2, float(np.ceil(max(high.max(), (seen + bars).max()) * 5) / 5))
    first, last = float(found.seconds[0]), float(found.seconds[-1])

    def across(seconds: float) -> float:
        place = np.log(max(seconds, first) / first) / np.log(last / first)
        return float(_LEFT + place * (_WIDE - _LEFT - _RIGHT))

    def up(density: float) -> float:
        return float(_HIGH - _FOOT - min(max(density / top, 0), 1) * (_HIGH - _TOP - _FOOT))

    times = [across(float(t)) for t in found.seconds]
    band = _path(times + times[::-1], [up(v) for v in high] + [up(v) for v in low[::-1]]) + "Z"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" role="img" '
        f'aria-labelledby="t d"><title id="t">How {escape(found.trial)} darkened</title>'
        f'<desc id="d">{escape(found.sentence)}</desc><style>{_STYLE}</style>'
    )
    parts = [
        head,
        f'<rect width="{_WIDE}" height="{_HIGH}" fill="#fcfbf8"/>',
        f'<text x="{_LEFT}" y="28">How {escape(found.trial)} darkened: mean channel density</text>',
        *_axes(top, first, last, across, up),
        f'<path class="band" d="{band}"/>',
        f'<path class="mid" d="{_path(times, [up(v) for v in middle])}"/>',
    ]
    for point, density, bar in zip(found.points, seen, bars, strict=True):
        x = across(point.seconds)
        parts.append(
            f'<line class="bar" x1="{x:.1f}" x2="{x:.1f}" y1="{up(density - bar):.1f}" y2="{up(density + bar):.1f}"/>'
            f'<circle class="point" cx="{x:.1f}" cy="{up(density):.1f}" r="5"><title>entry {point.entry}, '
            f"{span(point.seconds)}: {density:.2f}</title></circle>"
        )
    return "\n".join([*parts, "</svg>"]) + "\n"


def _mean(found: Darkening, key: str) -> np.ndarray:
    return np.array([np.mean([getattr(f, key) for f in row.values()]) for row in found.band])


def _path(xs: Sequence[float], ys: Sequence[float]) -> str:
    return "M" + "L".join(f"{x:.1f},{y:.1f}" for x, y in zip(xs, ys, strict=True))


def _axes(top: float, first: float, last: float, across: Scale, up: Scale) -> list[str]:
    foot = _HIGH - _FOOT
    out = []
    for k in range(5):
        y = up(top * k / 4)
        out.append(f'<line class="grid" x1="{_LEFT}" x2="{_WIDE - _RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>')
        out.append(f'<text x="{_LEFT - 8}" y="{y + 5:.1f}" text-anchor="end">{top * k / 4:.2f}</text>')
    for tick in _TICKS:
        if first <= tick <= last:
            x = across(tick)
            out.append(f'<line class="axis" x1="{x:.1f}" x2="{x:.1f}" y1="{foot}" y2="{foot + 6}"/>')
            anchor = "end" if x > _WIDE - 2 * _RIGHT else "middle"
            out.append(f'<text x="{x:.1f}" y="{foot + 24}" text-anchor="{anchor}">{span(tick)}</text>')
    out.append(f'<line class="axis" x1="{_LEFT}" x2="{_WIDE - _RIGHT}" y1="{foot}" y2="{foot}"/>')
    out.append(f'<text x="{_WIDE - _RIGHT}" y="{_HIGH - 10}" text-anchor="end">after it was written</text>')
    return out
