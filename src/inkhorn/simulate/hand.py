"""An invented book hand: letters as pen strokes, drawn with a broad nib held at an angle.

A letter is a few strokes, each a row of points in units of the x-height (baseline
at 0, x-height at 1). The hand belongs to no script and copies no manuscript.
The figures in this module are drawing, not measurement.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Points = Sequence[tuple[float, float]]

#: Each letter of the alphabet once at least: a line to try a pen with.
PANGRAM = "quick salt wind vexes my foul jib graze hope"

_BOWL: Points = ((0.62, 0.92), (0.28, 1.0), (0.02, 0.55), (0.12, 0.08), (0.38, 0.02), (0.61, 0.32))
_ROUND: Points = ((0.06, 0.72), (0.36, 1.02), (0.68, 0.6), (0.52, 0.08), (0.22, -0.02), (0.06, 0.14))
_ARCH: Points = ((0.07, 0.78), (0.34, 1.02), (0.56, 0.82), (0.57, 0.12), (0.7, 0.0))
_MINIM: Points = ((-0.06, 0.9), (0.05, 1.0), (0.07, 0.5), (0.08, 0.12), (0.2, 0.0))
_TALL: Points = ((-0.05, 1.66), (0.05, 1.76), (0.06, 0.9), (0.06, 0.06))
_GLYPHS: Mapping[str, tuple[float, tuple[Points, ...]]] = {
    "a": (0.92, (_BOWL, ((0.62, 1.0), (0.62, 0.5), (0.64, 0.14), (0.78, 0.0)))),
    "b": (0.86, (_TALL, _ROUND)),
    "c": (0.74, (((0.62, 0.84), (0.36, 1.02), (0.04, 0.6), (0.14, 0.08), (0.42, -0.02), (0.64, 0.16)),)),
    "d": (0.92, (_BOWL, ((0.14, 1.72), (0.42, 1.46), (0.6, 1.0), (0.64, 0.4), (0.66, 0.12), (0.8, 0.0)))),
    "e": (0.74, (((0.06, 0.52), (0.58, 0.66), (0.48, 0.98), (0.24, 0.96), (0.03, 0.52), (0.16, 0.06),
                  (0.42, -0.02), (0.64, 0.16)),)),
    "f": (0.6, (((0.62, 1.62), (0.4, 1.74), (0.22, 1.4), (0.21, 0.6), (0.2, 0.0)), ((-0.04, 0.98), (0.5, 1.0)))),
    "g": (0.88, (_BOWL, ((0.62, 1.0), (0.63, 0.2), (0.58, -0.38), (0.26, -0.62), (-0.02, -0.46)))),
    "h": (0.88, (_TALL, _ARCH)),
    "i": (0.4, (_MINIM, ((0.08, 1.36), (0.24, 1.5)))),
    "j": (0.42, (((0.02, 0.92), (0.14, 1.0), (0.15, 0.1), (0.08, -0.42), (-0.2, -0.56)), ((0.12, 1.36), (0.28, 1.5)))),
    "k": (0.8, (_TALL, ((0.54, 1.0), (0.1, 0.54)), ((0.18, 0.6), (0.44, 0.22), (0.7, 0.0)))),
    "l": (0.42, (((-0.05, 1.66), (0.05, 1.76), (0.06, 0.8), (0.08, 0.14), (0.22, 0.0)),)),
    "m": (1.32, (_MINIM, _ARCH, tuple((x + 0.52, y) for x, y in _ARCH))),
    "n": (0.86, (_MINIM, _ARCH)),
    "o": (0.84, (((0.36, 1.02), (0.03, 0.58), (0.14, 0.06), (0.36, -0.02)),
                 ((0.36, 1.02), (0.68, 0.72), (0.64, 0.26), (0.36, -0.02)))),
    "p": (0.86, (((-0.05, 0.9), (0.06, 1.0), (0.06, 0.2), (0.05, -0.7)), _ROUND)),
    "q": (0.88, (_BOWL, ((0.62, 1.0), (0.62, 0.2), (0.62, -0.7)))),
    "r": (0.6, (_MINIM, ((0.08, 0.76), (0.26, 1.0), (0.5, 0.94)))),
    "s": (0.64, (((0.52, 0.88), (0.28, 1.02), (0.08, 0.8), (0.38, 0.46), (0.46, 0.14), (0.2, -0.02), (-0.02, 0.12)),)),
    "t": (0.56, (((0.15, 1.34), (0.15, 0.6), (0.17, 0.12), (0.32, -0.01), (0.46, 0.12)), ((-0.08, 0.98), (0.44, 1.0)))),
    "u": (0.86, (((-0.06, 0.9), (0.05, 1.0), (0.07, 0.3), (0.24, 0.0), (0.52, 0.2)),
                 ((0.55, 1.0), (0.56, 0.4), (0.58, 0.12), (0.72, 0.0)))),
    "v": (0.74, (((-0.02, 1.0), (0.12, 0.56), (0.3, 0.02)), ((0.6, 1.0), (0.52, 0.5), (0.3, 0.02)))),
    "w": (1.1, (((-0.02, 1.0), (0.1, 0.5), (0.26, 0.02)), ((0.5, 0.96), (0.42, 0.5), (0.26, 0.02)),
                ((0.48, 0.96), (0.56, 0.5), (0.7, 0.02)), ((0.98, 1.0), (0.9, 0.5), (0.7, 0.02)))),
    "x": (0.72, (((-0.02, 0.98), (0.2, 0.66), (0.56, 0.02)), ((0.58, 0.98), (0.3, 0.5), (-0.06, -0.08)))),
    "y": (0.76, (((-0.02, 1.0), (0.12, 0.56), (0.3, 0.04)), ((0.62, 1.0), (0.48, 0.5), (0.24, -0.3), (-0.06, -0.62)))),
    "z": (0.68, (((0.0, 0.97), (0.54, 0.97)), ((0.54, 0.95), (0.02, 0.04)), ((0.02, 0.04), (0.58, 0.04)))),
}  # fmt: skip


@attrs.frozen(kw_only=True)
class Stroke:
    """One movement of the nib: its path in mm, ``(n, 2)``, and the ink it carries along it, ``(n,)``."""

    path: Array
    load: Array


@attrs.frozen(kw_only=True)
class Writer:
    """How somebody writes: nib in mm, x-height in nib widths, unsteadiness, letters a dip."""

    nib: float
    tall: float = 4.6
    wobble: float = 0.025
    dip: int = 9
    angle: float = 38.0


def curve(points: Points, step: float = 0.04) -> Array:
    """Return a smooth path (Catmull-Rom) through a few points, about ``step`` apart."""
    p = np.asarray(points, dtype=np.float64)
    if len(p) == 2:
        count = max(int(np.hypot(*(p[1] - p[0])) / step), 2)
        return np.asarray(p[0] + np.linspace(0, 1, count)[:, None] * (p[1] - p[0]))
    ends = np.vstack([2 * p[0] - p[1], p, 2 * p[-1] - p[-2]])
    parts = []
    for a, b, c, d in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        count = max(int(np.hypot(*(c - b)) / step), 3)
        t = np.linspace(0, 1, count, endpoint=False)[:, None]
        parts.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        )
    return np.vstack([*parts, p[-1:]])


def write(
    text: str, writer: Writer, rng: np.random.Generator, *, x: float, y: float, wide: float
) -> list[Stroke]:
    """Return the strokes of a text, broken into lines no wider than ``wide`` mm, y downwards from ``y``.

    Ink runs out letter by letter and comes back with each dip of the pen.
    """
    xh = writer.tall * writer.nib
    out: list[Stroke] = []
    at, line, since = x, y + 1.8 * xh, 0
    for word in text.split():
        length = sum(_advance(c) for c in word) * xh
        if at > x and at + length > x + wide:
            at, line = x, line + 3.1 * xh
        for letter in word:
            since = 0 if since >= writer.dip and rng.random() < 0.5 else since + 1
            ink = 1.28 - 0.55 * min(since / writer.dip, 1.3) + 0.05 * rng.standard_normal()
            out += _letter(letter, writer, rng, at=(at, line), ink=max(ink, 0.35))
            at += _advance(letter) * xh * (1 + 0.03 * rng.standard_normal())
        at += 0.55 * xh
    return out


def length(text: str) -> float:
    """Return about how long a text runs, in x-heights."""
    return sum(_advance(c) if c != " " else 0.55 for c in text)


def _advance(letter: str) -> float:
    return _GLYPHS[letter][0] + 0.14 if letter in _GLYPHS else 0.5


def _letter(
    letter: str, writer: Writer, rng: np.random.Generator, *, at: tuple[float, float], ink: float
) -> Iterator[Stroke]:
    if letter not in _GLYPHS:
        return
    xh = writer.tall * writer.nib
    size = xh * (1 + 0.02 * rng.standard_normal())
    slant = 0.05 + 0.02 * rng.standard_normal()
    lift = 0.03 * xh * rng.standard_normal()
    for points in _GLYPHS[letter][1]:
        shaken = np.asarray(points) + writer.wobble * rng.standard_normal((len(points), 2))
        path = curve([(float(a), float(b)) for a, b in shaken])
        moved = np.column_stack(
            [at[0] + size * (path[:, 0] + slant * path[:, 1]), at[1] + lift - size * path[:, 1]]
        )
        yield Stroke(path=moved, load=load_along(moved, ink, writer.nib))


def load_along(path: Array, ink: float, nib: float) -> Array:
    """Return the ink along a stroke: full at the start, thinner where the nib pushes up, pooled at the end."""
    step = np.hypot(*np.gradient(path, axis=0).T)
    run = np.cumsum(step)
    left = run[-1] - run
    up = -np.gradient(path[:, 1]) / np.maximum(step, 1e-9)
    pool = 1 + 0.5 * np.exp(-((left / (0.45 * nib)) ** 2)) + 0.22 * np.exp(-((run / (0.5 * nib)) ** 2))
    return np.asarray(ink * (1 - 0.16 * np.clip(up, 0, 1)) * pool)


def drills(writer: Writer, rng: np.random.Generator, *, x: float, y: float, wide: float) -> list[Stroke]:
    """Return a row of pen exercises: uprights, waves, rings and crossings."""
    xh, out = writer.tall * writer.nib, list[Stroke]()
    shapes: tuple[Points, ...] = (
        ((0.0, 1.4), (0.02, 0.7), (0.0, 0.0)),
        ((0.0, 1.4), (0.03, 0.7), (0.02, 0.0)),
        (
            (0.52, 1.24),
            (0.36, 1.42),
            (0.1, 1.3),
            (0.06, 1.0),
            (0.4, 0.6),
            (0.5, 0.26),
            (0.3, 0.0),
            (0.02, 0.08),
        ),
        (
            (0.4, 1.4),
            (0.06, 1.05),
            (0.03, 0.5),
            (0.22, 0.06),
            (0.48, 0.02),
            (0.74, 0.4),
            (0.76, 0.95),
            (0.56, 1.36),
            (0.38, 1.4),
        ),
        ((0.0, 1.4), (0.6, 0.0)),
        ((0.6, 1.4), (0.0, 0.0)),
        (
            (0.0, 0.3),
            (0.12, 0.7),
            (0.28, 0.92),
            (0.4, 0.7),
            (0.5, 0.34),
            (0.64, 0.16),
            (0.78, 0.4),
            (0.9, 0.78),
            (1.04, 0.92),
            (1.16, 0.6),
            (1.28, 0.2),
        ),
    )
    gaps = (0.55, 0.6, 0.85, 1.1, 0.0, 0.95, 1.5)
    at, line, turn = x, y + 1.9 * xh, 0
    while line < y + 5.6 * xh:
        points, gap = shapes[turn % len(shapes)], gaps[turn % len(gaps)]
        if at + 1.3 * xh > x + wide:
            at, line = x, line + 2.2 * xh
            continue
        shaken = np.asarray(points) + writer.wobble * rng.standard_normal((len(points), 2))
        path = curve([(float(a), float(b)) for a, b in shaken])
        moved = np.column_stack([at + xh * path[:, 0], line - xh * path[:, 1]])
        ink = 1.25 - 0.06 * (turn % 8) + 0.05 * rng.standard_normal()
        out.append(Stroke(path=moved, load=load_along(moved, ink, writer.nib)))
        at, turn = at + gap * xh, turn + 1
    return out


def lay(
    strokes: Sequence[Stroke], writer: Writer, shape: tuple[int, int], scale: float
) -> NDArray[np.float32]:
    """Draw strokes with the nib: relative film on a canvas of ``shape`` pixels at ``scale`` px/mm.

    Where strokes cross, the second adds less than half of itself: wet ink spreads over the first.
    """
    canvas = np.zeros(shape, np.float32)
    turn = np.deg2rad(writer.angle)
    half = 0.5 * writer.nib * np.array([np.cos(turn), -np.sin(turn)])
    thick = 0.085 * writer.nib * np.array([np.sin(turn), np.cos(turn)])
    nib = np.array([half + thick, half - thick, -half - thick, -half + thick])
    for stroke in strokes:
        _sweep(canvas, stroke, nib * scale, scale)
    return canvas


def _sweep(canvas: NDArray[np.float32], stroke: Stroke, nib: Array, scale: float) -> None:
    path = stroke.path * scale
    reach = np.abs(nib).max() + 2
    low = np.floor(path.min(axis=0) - reach).astype(int)
    high = np.ceil(path.max(axis=0) + reach).astype(int)
    low, high = np.maximum(low, 0), np.minimum(high, [canvas.shape[1], canvas.shape[0]])
    if (high <= low).any():
        return
    part = np.zeros((high[1] - low[1], high[0] - low[0]), np.float32)
    for a, b, load in zip(path, path[1:], stroke.load, strict=False):
        corners = np.vstack([a + nib, b + nib]) - low
        hull = cv2.convexHull(np.round(corners * 16).astype(np.int32))
        cv2.fillConvexPoly(part, hull, float(load), lineType=cv2.LINE_8, shift=4)
    there = canvas[low[1] : high[1], low[0] : high[0]]
    np.copyto(there, np.maximum(there, part) + 0.4 * np.minimum(there, part))
