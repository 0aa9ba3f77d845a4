"""Photographs of the invented truth: a trial's marks on its skin, and a worn original page."""

from __future__ import annotations

import zlib
from pathlib import Path

import attrs
import numpy as np

from inkhorn.errors import PictureError
from inkhorn.simulate import hand, optics, scene
from inkhorn.simulate.bench import Bench
from inkhorn.simulate.hand import Stroke, Writer
from inkhorn.simulate.notices import age_hours, raggedness, trial_of
from inkhorn.simulate.optics import Array, Film, Pigments, Surface
from inkhorn.simulate.scene import Camera, Field, Sheet

_UP = 2
_WORDS = (
    "salt", "marsh", "reed", "tide", "gull", "ebb", "sedge", "wharf", "brine", "crake", "heron", "withy", "tally",
    "sluice", "mere", "rope", "net", "flood", "loam", "quern", "juniper", "oxgang", "fosse", "byre", "hythe", "knot",
    "garth", "vexil", "zephyr",
)  # fmt: skip
#: A film's look is tabled at these multiples of its mean thickness.
_FILMS = np.concatenate([[0.0], np.geomspace(0.02, 5.0, 40)])


def _table(
    b: Bench, film: Film, um: float, *, bare: Array, surface: Surface, done: float
) -> tuple[Array, Array]:
    """Return films over the mean and the ratio of inked to bare linear RGB at each."""
    even = attrs.evolve(surface, uneven=0.0)
    pigments = Pigments.of(b.n)
    looks = [
        optics.stroke_of(optics.inked(film, max(um * f, 1e-4), bare, pigments, even, done=done), bare)
        for f in _FILMS
    ]
    ratios = np.array([look.rgb / look.bare_rgb for look in looks])
    ratios[0] = 1.0
    return _FILMS, ratios


def trial(b: Bench, name: str, path: Path, *, label: str = scene.LABEL) -> Path:
    """Render the photograph of a trial as it looks now, and write it to ``path`` (.jpg or .png)."""
    made = trial_of(b, name)
    sheet = b.skin(made.support)
    rng = np.random.default_rng([b.n.seed, zlib.crc32(name.encode()), b.count])
    pen = b.pen(made.pen)
    writer = Writer(nib=pen.width, wobble=0.022)
    scale = float(np.clip(21.0 / pen.width, 6.5, 16.0))
    size, strokes = _marks(made.method, writer, rng)
    if made.method in {"dip", "drop"}:
        size, scale = (84.0, 54.0), 9.0
    shape = (round(size[1] * scale), round(size[0] * scale))
    big = (shape[0] * _UP, shape[1] * _UP)
    if made.method in {"dip", "drop"}:
        canvas = _puddle(made.method, big, scale * _UP, rng)
    else:
        canvas = hand.lay(strokes, writer, big, scale * _UP)
    smooth = 0.5 if made.method in {"dip", "drop"} else 1.0
    wet = scene.settle(
        canvas, _UP, scale, rng, ragged=raggedness(b, made), uneven=smooth * b.n("film.uneven")
    )
    bare_rgb = optics.stroke_of(sheet.bare, sheet.bare).bare_rgb
    bare = scene.skin(Sheet(rgb=bare_rgb, hair=sheet.hair), shape, scale, rng)
    film = optics.film_of(made.ink, b.n, chalk=sheet.chalk)
    done = b.darkened(age_hours(b, made))
    table = _table(b, film, made.film, bare=sheet.bare, surface=b.surface(sheet.key), done=done)
    page = scene.inked(bare, wet, table)
    return _finish(page, rng, path, label, {"trial": name, "method": made.method})


def _marks(method: str, writer: Writer, rng: np.random.Generator) -> tuple[tuple[float, float], list[Stroke]]:
    """Return the size of the sheet in mm and the strokes on it."""
    xh = writer.tall * writer.nib
    if method == "line":
        wide = 12.6 * xh
        return (wide + 2 * xh, 3.4 * xh), hand.write(
            "salt marsh reed", writer, rng, x=xh, y=0.2 * xh, wide=wide
        )
    if method == "pangram":
        wide = 12.5 * xh
        return (wide + 2 * xh, 9.6 * xh), hand.write(hand.PANGRAM, writer, rng, x=xh, y=0.2 * xh, wide=wide)
    wide = 7.5 * xh
    return (wide + 1.6 * xh, 4.9 * xh), hand.drills(writer, rng, x=0.8 * xh, y=0.0, wide=wide)


def _puddle(method: str, shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    """Return the film of a dipped strip (thicker towards the drip) or of a fallen drop (a ring)."""
    ys, xs = np.indices(shape, dtype=np.float32)
    if method == "dip":
        wander = 0.4 * scale * scene.noise(shape, 6 * scale, rng)
        half, deep = 2.2 * scale, 0.62 * shape[0]
        side = np.abs(np.abs(xs - shape[1] / 2) - 8.0 * scale + wander) / half
        down = (ys - 0.2 * shape[0] + wander) / deep
        there = (side < 1) & (down > 0) & (down < 1)
        bead = 0.45 * np.exp(-(((down - 0.97) / 0.035) ** 2)) + 0.12 * np.exp(-((down / 0.02) ** 2))
        return np.asarray(np.where(there, 0.92 + 0.18 * down + bead, 0), np.float32)
    out = np.zeros(shape, np.float32)
    for k in range(6):
        at = (
            0.2 + 0.3 * (k % 3) + 0.02 * rng.standard_normal(),
            0.3 + 0.42 * (k // 3) + 0.03 * rng.standard_normal(),
        )
        radius = rng.uniform(2.1, 2.7) * scale
        far = np.hypot(ys - at[1] * shape[0], xs - at[0] * shape[1]) / radius
        far = far * (1 + 0.03 * scene.noise(shape, 4 * scale, rng))
        ring = 0.93 + 0.32 * np.exp(-(((far - 0.95) / 0.06) ** 2))
        out = np.maximum(out, np.where(far < 1, ring, 0))
    return np.asarray(out, np.float32)


def page(b: Bench, name: str, path: Path, *, lines: int = 7, label: str = scene.LABEL) -> Path:
    """Render a leaf of a worn original: ruled, written, flaked, rubbed, stained; write it to ``path``."""
    name = name.removeprefix("exemplar:")
    if name not in b.exemplars:
        raise PictureError(f"there is no invented original {name!r}", where="simulate")
    old = b.exemplars[name]
    rng = np.random.default_rng([b.n.seed, zlib.crc32(f"page {name}".encode())])
    writer = Writer(nib=0.62, tall=4.8, wobble=0.018, dip=11, angle=36.0)
    xh, scale = 4.8 * 0.62, 16.0
    pitch, wide = 3.1 * xh, 31.0 * xh
    size = (wide + 5.2 * xh, lines * pitch + 2.4 * xh)
    shape = (round(size[1] * scale), round(size[0] * scale))
    text, other = (_text(writer, rng, lines=lines, wide=wide) for _ in range(2))
    canvas = hand.lay(text, writer, (shape[0] * _UP, shape[1] * _UP), scale * _UP)
    wet = scene.settle(canvas, _UP, scale, rng, ragged=0.02, uneven=0.2)
    wet = scene.wear(wet, scale, rng, intact=old.intact, flaked=old.flaked)
    sheet = Sheet(rgb=optics.stroke_of(old.bare, old.bare).bare_rgb, hair=True, age=1.0)
    bare = scene.skin(sheet, shape, scale, rng)
    bare = scene.show_through(bare, hand.lay(other, writer, shape, scale), 0.045, scale)
    rules = [1.0 * xh + 1.8 * xh - 0.3 * xh + k * pitch for k in range(lines)]
    bare = scene.rule(bare, scale, rng, rules, (2.0 * xh, size[0] - 2.2 * xh))
    bare = scene.stain(bare, scale, rng, 3)
    inked = scene.inked(bare, wet, _table(b, old.film, old.um, bare=old.bare, surface=old.surface, done=1.0))
    return _finish(inked, rng, path, label, {"exemplar": name})


def _text(writer: Writer, rng: np.random.Generator, *, lines: int, wide: float) -> list[Stroke]:
    """Return the strokes of some lines of words, each no wider than ``wide`` mm."""
    xh = writer.tall * writer.nib
    strokes: list[Stroke] = []
    for k in range(lines):
        foot = 0.7 * xh + k * 3.1 * xh
        words: list[str] = []
        while hand.length(" ".join([*words, "withy"])) * xh < wide:
            words.append(str(rng.choice(_WORDS)))
        strokes += hand.write(" ".join(words), writer, rng, x=2.5 * xh, y=foot, wide=2 * wide)
    return strokes


def _finish(seen: Field, rng: np.random.Generator, path: Path, label: str, facts: dict[str, str]) -> Path:
    camera = Camera.of(rng)
    return scene.save(scene.label(scene.photograph(seen, camera, rng), label), path, camera, facts)
