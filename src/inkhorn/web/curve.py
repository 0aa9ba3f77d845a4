"""The darkening of a trial as a figure: geometry only; the template draws it and the style sheet inks it.

The height is a channel density; what is written beside it is the share of the
skin's light that the ink gives back (10 to the minus density), which is what an
eye can be told.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from inkhorn.report import words
from inkhorn.report.darkening import span

_WIDE, _HIGH = 640.0, 300.0
_LEFT, _RIGHT, _TOP, _FOOT = 128.0, 34.0, 16.0, 44.0
_CHANNELS = ("R", "G", "B")
_TICKS = (
    (60, "1 min"),
    (600, "10 min"),
    (3600, "1 h"),
    (6 * 3600, "6 h"),
    (86400, "day"),
    (7 * 86400, "week"),
    (30 * 86400, "month"),
    (365 * 86400, "year"),
)
_LEVELS = ((1, "all"), (2, "half"), (4, "a quarter"), (8, "an eighth"), (16, "a sixteenth"))
_END = _WIDE - 60  # beyond it a word ends at its tick
_LETTER = 12.0  # width of a letter in the figure's own units, where it is drawn smallest
_HALF_BAND = 1.645  # standard deviations to the 5th and 95th percentile of a normal


@attrs.frozen(kw_only=True)
class Look:
    """One reading in the figure: where it stands, how sure it is, what it says."""

    x: float
    y: float
    top: float
    foot: float
    says: str


@attrs.frozen(kw_only=True)
class Curve:
    """A figure of darkness against time, in the units of its own view box."""

    width: float
    height: float
    band: str
    middle: str
    looks: tuple[Look, ...]
    ticks: tuple[tuple[float, str], ...]
    levels: tuple[tuple[float, str], ...]
    end: float
    left: float
    foot: float
    says: str


def curve(found: Mapping[str, Any]) -> Curve:
    """Lay out the JSON form of a darkening: mean channel density on a scale of ratios of time.

    Parameters
    ----------
    found : mapping
        ``Darkening.to_dict()``.
    """
    times = [float(row["after_s"]) for row in found["band"]]
    low, mid, high = (
        [_mean(row["optical_density"], key) for row in found["band"]] for key in ("p05", "median", "p95")
    )
    seen = [(p, _mean(p["optical_density"], "value"), _bar(p["optical_density"])) for p in found["points"]]
    top = max([0.2, *high, *(d + e for _, d, e in seen)])
    top = math.ceil(top * 5) / 5
    first, last = times[0], times[-1]

    def across(seconds: float) -> float:
        share = math.log(max(seconds, first) / first) / math.log(last / first)
        return _LEFT + share * (_WIDE - _LEFT - _RIGHT)

    def up(density: float) -> float:
        return _HIGH - _FOOT - min(max(density / top, 0), 1) * (_HIGH - _TOP - _FOOT)

    xs = [across(t) for t in times]
    band = _path([*xs, *reversed(xs)], [up(v) for v in [*high, *reversed(low)]])
    return Curve(
        width=_WIDE,
        height=_HIGH,
        band=f"{band} Z",
        middle=_path(xs, [up(v) for v in mid]),
        looks=tuple(
            Look(
                x=across(p["after_s"]),
                y=up(d),
                top=up(d + e),
                foot=up(d - e),
                says=f"{span(p['after_s'])} after: {words.number(d, 0.01)}",
            )
            for p, d, e in seen
        ),
        ticks=_apart([(across(t), name) for t, name in _TICKS if first <= t <= last]),
        levels=tuple((up(math.log10(part)), name) for part, name in _LEVELS if math.log10(part) <= top),
        end=_END,
        left=_LEFT,
        foot=_HIGH - _FOOT,
        says=str(found["sentence"]),
    )


def _apart(ticks: Sequence[tuple[float, str]]) -> tuple[tuple[float, str], ...]:
    """Leave out the times whose words would touch their right neighbour's, at the size of a telephone."""
    out: list[tuple[float, str]] = []
    reach = math.inf
    for x, name in reversed(ticks):
        # The last word ends at its own tick where it would run out of the figure; the others stand about theirs.
        right = x if x > _END else x + _LETTER * len(name) / 2
        if right + _LETTER < reach:
            out.append((x, name))
            reach = right - _LETTER * len(name)
    return tuple(reversed(out))


def _mean(channels: Mapping[str, Mapping[str, float]], key: str) -> float:
    return sum(float(channels[c][key]) for c in _CHANNELS) / len(_CHANNELS)


def _bar(channels: Mapping[str, Mapping[str, float]]) -> float:
    return _HALF_BAND * math.sqrt(sum(float(channels[c]["sd"]) ** 2 for c in _CHANNELS) / len(_CHANNELS))


def _path(xs: Sequence[float], ys: Sequence[float]) -> str:
    return "M " + " L ".join(f"{x:.1f} {y:.1f}" for x, y in zip(xs, ys, strict=True))
