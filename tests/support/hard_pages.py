"""Pages as makers and scholars have them, with what lies round and on the writing, rendered from a known truth.

The writing comes from `support.rendered_pages`; each kind adds one thing that a
real picture shows: a black bed with a bar of grey and colour steps, a gutter, red
initials, ruling with the pen, holes, two columns, a slant, a screenshot's frame, a
finger, bars of window light. Nothing here is shared with the reader.
"""

from __future__ import annotations

import io

import attrs
import cv2
import numpy as np
from PIL import Image

from support.rendered_pages import OVER, Page, _field, _lamp, _pen, _reduce, _soil, _srgb, _wear, _write

SHAPE_OF_INITIAL = [[(0, -1.0), (0.0, 0.0)], [(0.0, -1.0), (0.6, -0.9), (0.6, -0.1), (0.0, 0.0)]]


@attrs.frozen(kw_only=True, eq=False)
class Hard:
    """A picture and what is true of its brown ink; ``area`` is the share of its own sheet under strokes."""

    encoded: np.ndarray
    density: np.ndarray
    wear: np.ndarray
    area: float
    quality: int | None = None

    def file(self) -> bytes:
        """Return the picture as PNG, or as JPEG of its quality."""
        out = io.BytesIO()
        image = Image.fromarray(self.encoded)
        image.save(out, "PNG") if self.quality is None else image.save(out, "JPEG", quality=self.quality)
        return out.getvalue()


@attrs.define(kw_only=True, eq=False)
class _Scene:
    """Layers in double size: light of the sheet with all on it, and where the brown ink is."""

    page: Page
    rng: np.random.Generator
    light: np.ndarray
    stroke: np.ndarray
    worth: np.ndarray
    wear: np.ndarray
    area: float
    quality: int | None = None
    lamp: np.ndarray | None = None


def hard_page(kind: str, seed: int) -> Hard:
    """Render one picture of a kind in `KINDS`."""
    rng = np.random.default_rng([seed, *kind.encode()])
    page, area = _page(kind, rng, seed)
    scene = _written(page, rng, area)
    _LAYERS.get(kind, lambda _: None)(scene)
    return _taken(scene)


def _page(kind: str, rng: np.random.Generator, seed: int) -> tuple[Page, tuple[float, float, float, float]]:
    """Return a page and the part of it that is written on (left, top, right, bottom)."""
    depth, nib = rng.uniform(0.45, 0.95), rng.uniform(6, 9)
    worn = rng.uniform(0, 0.3) * (rng.random() > 0.4)
    page = Page(
        height=760,
        width=1000,
        density=tuple(float(depth * f) for f in (rng.uniform(0.82, 0.95), 1, rng.uniform(1.05, 1.2))),
        support=tuple(float(v) for v in np.array([0.8, 0.7, 0.52]) * rng.uniform(0.7, 1.05)),
        nib=nib,
        hairline=0.5 * nib,
        x_height=5 * nib,
        line_space=rng.uniform(3, 4.5),
        bare=worn / 2,
        thinned=worn / 2,
        patch=nib,
        blur=rng.uniform(0.6, 1.1),
        noise=rng.uniform(0.002, 0.006),
        gradient=rng.uniform(0, 0.3),
        jpeg=88,
        seed=seed,
    )
    change = _CHANGES.get(kind, lambda _: {})(page)
    return attrs.evolve(page, **change), _AREAS.get(kind, (0.0, 0.0, 1.0, 1.0))


_CHANGES = {
    "dense": lambda _: {"line_space": 2.0, "nib": 9.0, "hairline": 6.5, "x_height": 34.0},
    "tiny": lambda _: {"nib": 1.4, "hairline": 0.9, "x_height": 5.5, "blur": 0.6},
    "small": lambda _: {"nib": 3.4, "hairline": 2.2, "x_height": 15.0, "blur": 0.6},
    "huge": lambda _: {"nib": 46.0, "hairline": 25.0, "x_height": 150.0, "patch": 25.0, "line_space": 2.6},
    "poor_jpeg": lambda _: {"jpeg": 30},
    "shade": lambda _: {"cast": (0.5, 0.72, 1.0)},
    "lamp": lambda _: {"cast": (1.0, 0.66, 0.33), "vignette": 0.3},
    "pale": lambda _: {"density": (0.14, 0.18, 0.24), "bare": 0.0, "thinned": 0.0},
    "dim": lambda _: {"cast": (0.12, 0.12, 0.12), "noise": 0.006},
    "stained": lambda _: {"stains": 6},
    "big_picture": lambda page: {
        "height": 1900, "width": 2500, "nib": 2.6 * page.nib, "hairline": 1.3 * page.nib,
        "x_height": 2.6 * page.x_height, "patch": 2.6 * page.patch, "blur": 1.6,
    },
}  # fmt: skip
_AREAS = {
    "bed": (0.14, 0.1, 0.9, 0.8),
    "white_bed": (0.14, 0.1, 0.9, 0.9),
    "gutter": (0.16, 0.05, 0.95, 0.95),
    "screenshot": (0.2, 0.16, 0.85, 0.78),
    "finger": (0.05, 0.05, 0.9, 0.95),
    "margin": (0.3, 0.05, 0.95, 0.95),
    "slant": (0.12, 0.12, 0.88, 0.88),
    "slight_slant": (0.05, 0.05, 0.95, 0.95),
}


def _written(page: Page, rng: np.random.Generator, part: tuple[float, float, float, float]) -> _Scene:
    size = (page.height * OVER, page.width * OVER)
    left, top, right, bottom = (
        round(v * s) for v, s in zip(part, (size[1], size[0], size[1], size[0]), strict=True)
    )
    stroke, load = np.zeros(size, np.float32), np.ones(size, np.float32)
    stroke[top:bottom, left:right], load[top:bottom, left:right] = _write(
        page, rng, (bottom - top, right - left)
    )
    factor, states = _wear(page, rng, size, stroke)
    amount = stroke * load * factor * np.exp(0.03 * _field(rng, size, 4 * OVER))
    support = np.asarray(page.support) * np.exp(page.texture * _field(rng, size, 1.5 * OVER))[..., None]
    support = support * _soil(page, rng, size)[..., None] ** np.array([0.7, 1.0, 1.5])
    light = support * 10 ** (-amount[..., None] * np.asarray(page.density))
    intact = states[..., 2] * stroke
    return _Scene(
        page=page,
        rng=rng,
        light=light.astype(np.float32),
        stroke=stroke,
        worth=np.array([(amount * intact).sum() / intact.sum()]) * page.density,
        wear=(states * stroke[..., None]).sum(axis=(0, 1)) / stroke.sum(),
        area=float(stroke.mean()),
        quality=page.jpeg,
    )


def _taken(scene: _Scene) -> Hard:
    page, rng = scene.page, scene.rng
    small = _reduce(scene.light).astype(np.float64)
    lamp = scene.lamp if scene.lamp is not None else _lamp(page)[..., None]
    small = small * lamp * np.asarray(page.cast)
    small = cv2.GaussianBlur(small, (0, 0), page.blur)
    small = small + rng.normal(0, 1, small.shape) * page.noise * np.sqrt(np.maximum(small, 0.02))
    return Hard(
        encoded=np.rint(255 * _srgb(np.clip(small, 0, 1))).astype(np.uint8),
        density=scene.worth,
        wear=scene.wear,
        area=scene.area,
        quality=scene.quality,
    )


def _film(scene: _Scene, mask: np.ndarray, density: tuple[float, float, float]) -> None:
    """Lay a film over what is there."""
    scene.light *= (10 ** (-mask[..., None] * np.asarray(density))).astype(np.float32)


def _bed(scene: _Scene, *, light: float, bar: bool) -> None:
    """Lay the sheet on a bed, with a bar of steps beside it."""
    height, width = scene.stroke.shape
    sheet = np.zeros((height, width), np.uint8)
    right, low = round(0.92 * width), round(0.83 * height if bar else 0.93 * height)
    rim = [(round(0.11 * width), round(0.07 * height))]
    rim += [(right, round(0.06 * height)), (right + 9, low), (round(0.1 * width), low + 7)]
    cv2.fillPoly(sheet, [np.array(rim, np.int32)], 1)
    bed = np.full(scene.light.shape, light, np.float32)
    bed *= np.exp(0.05 * _field(scene.rng, sheet.shape, 3 * OVER))[..., None]
    if bar:
        steps = [(v, v, v) for v in (0.9, 0.6, 0.36, 0.19, 0.09, 0.03)]
        steps += [(0.05, 0.1, 0.4), (0.1, 0.4, 0.1), (0.5, 0.05, 0.04), (0.8, 0.6, 0.03), (0.6, 0.1, 0.3)]
        wide = round(0.8 * width / len(steps))
        for k, step in enumerate(steps):
            x = round(0.1 * width) + k * wide
            bed[round(0.88 * height) : round(0.96 * height), x : x + wide] = step
        for k in range(60):
            x = round(0.1 * width + k * 0.8 * width / 60)
            bed[round(0.96 * height) : round((0.98 if k % 5 else 0.99) * height), x : x + 3] = 0.8
    scene.light = np.where(sheet[..., None] > 0, scene.light, bed)
    scene.area = float(scene.stroke[sheet > 0].mean())


def _gutter(scene: _Scene) -> None:
    """Bend the sheet into a gutter at its left, with the shadow there and a strip of the facing page."""
    height, width = scene.stroke.shape
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    near = np.exp(-np.maximum(x - 0.1 * width, 0) / (0.07 * width))
    shifted = cv2.remap(
        scene.light,
        x,
        y + 0.03 * height * near,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    shade = 1 - 0.75 * np.exp(-np.abs(x - 0.1 * width) / (0.035 * width))
    fold = 1 - 0.85 * np.exp(-(((x - 0.1 * width) / (0.004 * width)) ** 2))
    scene.light = shifted * (shade * fold)[..., None].astype(np.float32)


def _rubrics(scene: _Scene) -> None:
    """Write red initials over a tenth of the ink, broad and narrow."""
    page = scene.page
    mask = np.zeros(scene.stroke.shape, np.uint8)
    unit = page.x_height * OVER
    for y in np.arange(2.6 * unit, mask.shape[0] - unit, page.line_space * unit):
        if scene.rng.random() < 0.6:
            for path in SHAPE_OF_INITIAL:
                at = (scene.rng.uniform(0.1, 0.8) * mask.shape[1], y + 0.2 * unit)
                _pen(mask, np.array(path), at, 1.6 * unit, attrs.evolve(page, nib=1.6 * page.nib))
    free = mask * (cv2.dilate(scene.stroke.astype(np.uint8), np.ones((13, 13))) == 0)
    _film(scene, free.astype(np.float32), (0.12, 0.75, 0.85))


def _rubric_lines(scene: _Scene) -> None:
    """Write whole lines in red, a third as many as in brown."""
    page = attrs.evolve(scene.page, line_space=3 * scene.page.line_space, seed=scene.page.seed + 77)
    mask, _ = _write(page, scene.rng, scene.stroke.shape)
    free = mask * (cv2.dilate(scene.stroke.astype(np.uint8), np.ones((13, 13))) == 0)
    _film(scene, free, (0.12, 0.75, 0.85))


def _lines(scene: _Scene, density: float, wide: int, *, upright: bool) -> None:
    height, width = scene.stroke.shape
    mask = np.zeros((height, width), np.float32)
    step = scene.page.line_space * scene.page.x_height * OVER
    for y in np.arange(2.66 * scene.page.x_height * OVER, height, step):
        cv2.line(mask, (0, int(y)), (width, int(y + 0.008 * width)), 1.0, wide, cv2.LINE_AA)
    if upright:
        for x in (0.07, 0.085, 0.93):
            cv2.line(mask, (int(x * width), 0), (int(x * width) - 6, height), 1.0, wide, cv2.LINE_AA)
    uneven = 0.75 + 0.25 * np.clip(_field(scene.rng, mask.shape, 12 * OVER), -1, 1)
    _film(scene, mask * uneven, tuple(density * f for f in (0.9, 1.0, 1.1)))


def _holes(scene: _Scene) -> None:
    """Cut holes, through which something dark or white is seen."""
    mask = np.zeros(scene.stroke.shape, np.uint8)
    for _ in range(9):
        at = tuple(int(scene.rng.uniform(0.05, 0.95) * s) for s in mask.shape[::-1])
        long = scene.rng.uniform(6, 60)
        cv2.ellipse(mask, at, (int(long), int(long * scene.rng.uniform(0.4, 1))), scene.rng.uniform(0, 180), 0, 360, 1, -1)  # fmt: skip
    ring = cv2.dilate(mask, np.ones((11, 11))) - mask
    _film(scene, cv2.GaussianBlur(ring.astype(np.float32), (0, 0), 4), (0.15, 0.2, 0.25))
    scene.light = np.where(mask[..., None] > 0, np.float32(0.012), scene.light)


def _stamp(scene: _Scene) -> None:
    """Put a round stamp in blue and a pencil number onto the sheet."""
    mask = np.zeros(scene.stroke.shape, np.uint8)
    at = (int(0.75 * mask.shape[1]), int(0.25 * mask.shape[0]))
    for radius in (110, 84):
        cv2.circle(mask, at, radius, 1, 6)
    cv2.putText(mask, "SALTMERE", (at[0] - 78, at[1] + 10), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 1, 5)
    _film(scene, mask.astype(np.float32), (0.75, 0.5, 0.2))
    note = np.zeros_like(mask)
    cv2.putText(note, "17 r", (int(0.88 * mask.shape[1]), 60), cv2.FONT_HERSHEY_SCRIPT_SIMPLEX, 1.6, 1, 3)
    _film(scene, note.astype(np.float32), (0.3, 0.3, 0.3))


def _columns(scene: _Scene) -> None:
    """Clear a space between two columns, and rule its two sides."""
    height, width = scene.stroke.shape
    clear = np.zeros((height, width), bool)
    clear[:, int(0.46 * width) : int(0.54 * width)] = True
    bare = (
        np.asarray(scene.page.support, np.float32)
        * np.exp(0.01 * _field(scene.rng, (height, width), 3))[..., None]
    )
    scene.light = np.where(clear[..., None], bare, scene.light).astype(np.float32)
    scene.area = float((scene.stroke * ~clear).mean())
    mask = np.zeros((height, width), np.float32)
    for x in (0.465, 0.535):
        cv2.line(mask, (int(x * width), 0), (int(x * width), height), 1.0, 3, cv2.LINE_AA)
    _film(scene, mask, (0.15, 0.15, 0.15))


def _turned(scene: _Scene, degrees: float) -> None:
    """Turn the sheet in the frame; its edge repeats outward."""
    height, width = scene.stroke.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    scene.light = cv2.warpAffine(
        scene.light, turn, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
    stroke = cv2.warpAffine(scene.stroke, turn, (width, height), borderMode=cv2.BORDER_REFLECT)
    scene.area = float(stroke.mean())


def _screenshot(scene: _Scene) -> None:
    """Set the page into a white window with a dark bar at the top and a caption below."""
    height, width = scene.stroke.shape
    frame = np.full_like(scene.light, 0.93)
    frame[: int(0.07 * height)] = 0.02
    inner = np.s_[int(0.12 * height) : int(0.82 * height), int(0.15 * width) : int(0.9 * width)]
    frame[inner] = scene.light[inner]
    words = "Figure 3. Account roll, membrane 2 (detail). Courtesy of the archive."
    caption = np.zeros((height, width), np.uint8)
    cv2.putText(caption, words, (int(0.15 * width), int(0.88 * height)), cv2.FONT_HERSHEY_SIMPLEX, 0.9, 1, 2)
    cv2.putText(
        caption, "Menu   View   Share", (30, int(0.045 * height)), cv2.FONT_HERSHEY_SIMPLEX, 0.9, 2, 2
    )
    frame[caption == 1] = 0.01
    frame[caption == 2] = 0.8
    scene.light = frame
    scene.area = float(scene.stroke[inner].mean())
    scene.lamp = np.ones((scene.page.height, scene.page.width, 1))


def _finger(scene: _Scene) -> None:
    """Hold the sheet with a finger from the right and a thumb from below, with their shadows."""
    height, width = scene.stroke.shape
    mask = np.zeros((height, width), np.uint8)
    cv2.ellipse(mask, (width + 40, int(0.6 * height)), (int(0.16 * width), 90), 8, 0, 360, 1, -1)
    cv2.ellipse(mask, (int(0.4 * width), height + 60), (95, int(0.25 * height)), 5, 0, 360, 1, -1)
    shadow = cv2.GaussianBlur(np.roll(mask, (20, -26), (0, 1)).astype(np.float32), (0, 0), 14)
    _film(scene, shadow, (0.2, 0.2, 0.2))
    flesh = (
        np.array([0.5, 0.27, 0.18], np.float32) * np.exp(0.12 * _field(scene.rng, mask.shape, 20))[..., None]
    )
    scene.light = np.where(mask[..., None] > 0, flesh, scene.light).astype(np.float32)


def _window(scene: _Scene) -> None:
    """Light through a barred window: edges half sharp, a third of the light in the shade."""
    page = scene.page
    x, y = np.meshgrid(np.arange(page.width), np.arange(page.height))
    bars = ((x + 0.35 * y) % 300 < 180).astype(np.float32)
    bars = cv2.GaussianBlur(bars, (0, 0), scene.rng.uniform(3, 10))
    scene.lamp = (0.35 + 0.65 * bars[..., None] * np.array([1.0, 0.97, 0.9])) * _lamp(page)[..., None]


def _hand_shadow(scene: _Scene) -> None:
    """Shadow of a hand and phone over a third of the sheet."""
    page = scene.page
    mask = np.zeros((page.height, page.width), np.float32)
    cv2.ellipse(
        mask, (page.width, page.height), (int(0.6 * page.width), int(0.7 * page.height)), 0, 0, 360, 1, -1
    )
    soft = cv2.GaussianBlur(mask, (0, 0), scene.rng.uniform(4, 20))
    scene.lamp = ((1 - 0.6 * soft) * _lamp(page))[..., None]


def _margin(scene: _Scene) -> None:
    """Stain the outer margin deeply, as many thumbs and damp do."""
    height, width = scene.stroke.shape
    x, _ = np.meshgrid(np.arange(width), np.arange(height))
    edge = x - 0.2 * width - 60 * _field(scene.rng, (height, width), 60)
    stain = 1 / (1 + np.exp(edge / scene.rng.uniform(4, 40)))
    _film(
        scene, stain.astype(np.float32) * (1 + 0.1 * _field(scene.rng, (height, width), 10)), (0.25, 0.4, 0.6)
    )


def _gloss(scene: _Scene) -> None:
    """Write small pale notes of another ink beside the text."""
    page = attrs.evolve(scene.page, nib=0.5 * scene.page.nib, hairline=0.25 * scene.page.nib)
    page = attrs.evolve(page, x_height=0.45 * scene.page.x_height, line_space=3.0)
    height, width = scene.stroke.shape
    part = np.s_[:, int(0.7 * width) :]
    mask = np.zeros((height, width), np.float32)
    mask[part], _ = _write(page, scene.rng, mask[part].shape)
    free = mask * (cv2.dilate(scene.stroke.astype(np.uint8), np.ones((9, 9))) == 0)
    _film(scene, free, tuple(0.5 * d for d in scene.page.density))


def _crease(scene: _Scene) -> None:
    """Fold the sheet once across and once along: a dark line beside a bright one."""
    height, width = scene.stroke.shape
    for axis, place in ((0, 0.47), (1, 0.52)):
        along = np.arange((height, width)[axis]) - place * (height, width)[axis]
        profile = 1 - 0.35 * np.exp(-((along / 4) ** 2)) + 0.12 * np.exp(-(((along - 12) / 6) ** 2))
        scene.light *= (profile[:, None] if axis == 0 else profile[None])[..., None].astype(np.float32)


_LAYERS = {
    "bed": lambda s: _bed(s, light=0.012, bar=True),
    "white_bed": lambda s: _bed(s, light=0.95, bar=False),
    "gutter": _gutter,
    "rubrics": _rubrics,
    "rubric_lines": _rubric_lines,
    "lead": lambda s: _lines(s, 0.14, 2, upright=True),
    "ink_ruling": lambda s: _lines(s, 0.5 * s.page.density[1], 3, upright=True),
    "dark_ruling": lambda s: _lines(s, 0.9 * s.page.density[1], 3, upright=False),
    "holes": _holes,
    "stamp": _stamp,
    "columns": _columns,
    "slant": lambda s: _turned(s, float(s.rng.uniform(20, 45))),
    "slight_slant": lambda s: _turned(s, float(s.rng.uniform(3, 9))),
    "screenshot": _screenshot,
    "finger": _finger,
    "window": _window,
    "hand_shadow": _hand_shadow,
    "margin": _margin,
    "gloss": _gloss,
    "crease": _crease,
}  # fmt: skip
KINDS = tuple(sorted({"plain", *_LAYERS, *_CHANGES}))
