"""Written pages rendered from a known truth, with nothing in common with the reader.

Pen paths of an invented script are drawn with a broad or a round nib at double
size; ink is a density over a support; wear takes whole patches off (bare) or
part of the density (thinned); then light, lens, sensor and file are applied in
that order. Every map the reader has to guess is returned with the picture.
"""

from __future__ import annotations

import io

import attrs
import cv2
import numpy as np
from PIL import Image

OVER = 2  # drawing is done at this multiple of the final size

# invented letter shapes: pen paths in units of the x-height, x to the right, y down, baseline y = 0
SHAPES = (
    [[(0, -0.9), (0.05, -0.3), (0.2, 0.0), (0.45, -0.2)]],
    [[(0, -0.9), (0.0, 0.0)], [(0.0, -0.6), (0.3, -1.0), (0.6, -0.8), (0.6, 0.0)]],
    [[(0.5, -0.95), (0.1, -0.9), (0.0, -0.45), (0.2, 0.0), (0.55, -0.1), (0.7, -0.5), (0.5, -0.95)]],
    [[(0.05, -0.5), (0.55, -0.6), (0.4, -0.98), (0.05, -0.7), (0.1, -0.1), (0.35, 0.02), (0.65, -0.2)]],
    [[(0.0, -1.9), (0.0, -0.3), (0.2, 0.0), (0.4, -0.15)]],
    [
        [(0.6, -2.0), (0.6, -0.2), (0.75, 0.0)],
        [(0.55, -0.9), (0.1, -0.8), (0.05, -0.2), (0.3, 0.0), (0.58, -0.4)],
    ],
    [
        [
            (0.5, -0.95),
            (0.05, -0.8),
            (0.1, -0.2),
            (0.5, -0.2),
            (0.55, -0.9),
            (0.5, 0.6),
            (0.1, 0.9),
            (-0.1, 0.6),
        ]
    ],
    [[(0.55, -0.9), (0.2, -0.98), (0.1, -0.7), (0.45, -0.4), (0.4, -0.05), (0.0, -0.05)]],
    [[(0.6, -0.85), (0.2, -0.95), (0.0, -0.45), (0.25, 0.0), (0.65, -0.15)]],
    [[(0.15, -1.5), (0.12, -0.2), (0.3, 0.02), (0.5, -0.2)], [(-0.1, -0.95), (0.5, -0.95)]],
    [[(0, -0.9), (0.05, -0.15), (0.3, 0.0), (0.55, -0.3), (0.6, -0.9), (0.62, -0.1), (0.8, -0.1)]],
    [[(0, -0.9), (0.02, 0.0)], [(0.05, -0.6), (0.25, -0.95), (0.5, -0.9)]],
    [[(0.0, 0.9), (0.05, -0.9)], [(0.05, -0.6), (0.4, -0.98), (0.65, -0.5), (0.4, 0.0), (0.05, -0.2)]],
)


@attrs.frozen(kw_only=True)
class Page:
    """What to render; every field has a plain default."""

    height: int = 700
    width: int = 1000
    density: tuple[float, float, float] = (0.75, 0.85, 0.95)
    support: tuple[float, float, float] = (0.78, 0.70, 0.55)
    x_height: float = 34.0
    nib: float = 7.0
    hairline: float = 3.0
    line_space: float = 3.6
    load_sd: float = 0.04
    pools: float = 0.0
    pool_factor: float = 1.8
    bare: float = 0.0
    thinned: float = 0.0
    thin_low: float = 0.35
    thin_high: float = 0.65
    patch: float = 6.0
    region: float = 0.5
    texture: float = 0.01
    gradient: float = 0.0
    vignette: float = 0.0
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    ruling: float = 0.0
    stains: int = 0
    show_through: float = 0.0
    blur: float = 0.8
    noise: float = 0.004
    jpeg: int | None = None
    seed: int = 0


@attrs.frozen(kw_only=True, eq=False)
class Rendered:
    """A rendered page and its truth.

    ``encoded`` is 8-bit sRGB; ``stroke`` the share of each pixel under a stroke
    (worn or not); ``state`` shares (H, W, 3) bare, thinned, intact of the stroke.
    """

    encoded: np.ndarray
    stroke: np.ndarray
    state: np.ndarray
    density: np.ndarray
    wear: np.ndarray
    coverage: float

    def png(self) -> bytes:
        """Return the page as a PNG file."""
        out = io.BytesIO()
        Image.fromarray(self.encoded).save(out, "PNG")
        return out.getvalue()


def any_page(seed: int) -> Page:
    """Return a random page; everything that a camera and four centuries do is drawn."""
    rng = np.random.default_rng(seed)
    depth = rng.uniform(0.3, 1.15)
    worn = rng.uniform(0, 0.5) * (rng.random() > 0.2)
    share = rng.uniform(0.3, 0.7)
    nib = rng.uniform(5, 11)
    return Page(
        height=560,
        width=900,
        density=tuple(float(depth * f) for f in (rng.uniform(0.8, 1), 1, rng.uniform(1, 1.2))),
        support=tuple(float(v) for v in np.array([0.8, 0.7, 0.52]) * rng.uniform(0.6, 1.1)),
        nib=nib,
        hairline=nib * rng.uniform(0.35, 0.8),
        x_height=nib * rng.uniform(4, 6),
        line_space=rng.uniform(3, 6),
        load_sd=rng.uniform(0, 0.08),
        bare=worn * share,
        thinned=worn * (1 - share),
        thin_low=0.3,
        thin_high=rng.uniform(0.5, 0.7),
        patch=nib * rng.uniform(0.5, 1.5),
        region=rng.uniform(0, 0.8),
        gradient=rng.uniform(0, 0.5),
        vignette=rng.uniform(0, 0.3),
        cast=(1.0, float(rng.uniform(0.8, 1)), float(rng.uniform(0.6, 1))),
        ruling=float(rng.choice([0, 0, 0.1, 0.2])),
        stains=int(rng.integers(0, 4)),
        show_through=float(rng.choice([0, 0, 0.08, 0.15])),
        blur=rng.uniform(0.5, 1.4),
        noise=rng.uniform(0.001, 0.01),
        jpeg=[None, 75, 92][rng.integers(3)],
        seed=seed,
    )


def render(page: Page) -> Rendered:
    """Render a page; the same page gives the same picture."""
    rng = np.random.default_rng(page.seed)
    size = (page.height * OVER, page.width * OVER)
    stroke, load = _write(page, rng, size)
    factor, states = _wear(page, rng, size, stroke)
    ponds = _ponds(page, rng, size, stroke)
    amount = (
        stroke
        * factor
        * load
        * (1 + (page.pool_factor - 1) * ponds)
        * np.exp(0.03 * _field(rng, size, 4 * OVER))
    )
    support = np.asarray(page.support) * np.exp(page.texture * _field(rng, size, 1.5 * OVER))[..., None]
    support = support * _soil(page, rng, size)[..., None] ** np.array([0.7, 1.0, 1.5])
    light = support * 10 ** (-amount[..., None] * np.asarray(page.density))
    small = _reduce(light)
    small = small * _lamp(page)[..., None] * np.asarray(page.cast)
    small = cv2.GaussianBlur(small, (0, 0), page.blur) if page.blur else small
    small = small + rng.normal(0, 1, small.shape) * page.noise * np.sqrt(np.maximum(small, 0.02))
    encoded = np.rint(255 * _srgb(np.clip(small, 0, 1))).astype(np.uint8)
    if page.jpeg is not None:
        buffer = io.BytesIO()
        Image.fromarray(encoded).save(buffer, "JPEG", quality=page.jpeg)
        encoded = np.asarray(Image.open(buffer))
    intact = states[..., 2] * stroke * (ponds == 0)
    shares = (states * stroke[..., None]).sum(axis=(0, 1)) / stroke.sum()
    worth = float((amount * intact).sum() / max(1.0, intact.sum()))
    return Rendered(
        encoded=encoded,
        stroke=_reduce(stroke.astype(np.float32)),
        state=_reduce((states * stroke[..., None]).astype(np.float32)),
        density=worth * np.asarray(page.density),
        wear=shares,
        coverage=float(stroke.mean()),
    )


def _write(page, rng, size):
    stroke = np.zeros(size, np.uint8)
    load = np.ones(size, np.float32)
    unit = page.x_height * OVER
    y = 2.6 * unit
    while y < size[0] - 1.5 * unit:
        x = 1.2 * unit * rng.uniform(0.8, 1.2)
        while x < size[1] - 3 * unit:
            for _ in range(rng.integers(2, 8)):
                if x > size[1] - 1.6 * unit:
                    break
                shape = SHAPES[rng.integers(len(SHAPES))]
                one = np.zeros_like(stroke)
                for path in shape:
                    _pen(
                        one, np.array(path) * [1, 1] + rng.normal(0, 0.03, (len(path), 2)), (x, y), unit, page
                    )
                stroke |= one
                load[one > 0] = np.exp(rng.normal(0, page.load_sd))
                x += unit * (0.35 + max(p[0] for path in shape for p in path))
            x += 0.8 * unit
        y += page.line_space * unit * rng.uniform(0.97, 1.03)
    return stroke.astype(np.float32), load


def _pen(canvas, path, at, unit, page):
    """Draw one pen path: a smooth curve through its points, the nib's width by its direction."""
    t = np.linspace(0, len(path) - 1, 40 * (len(path) - 1) + 1)
    curve = np.column_stack([_spline(path[:, i], t) for i in (0, 1)]) * unit + np.asarray(at)
    curve[:, 0] -= (curve[:, 1] - at[1]) * 0.15  # slant
    direction = np.arctan2(np.gradient(curve[:, 1]), np.gradient(curve[:, 0]))
    wide = OVER * (page.hairline + (page.nib - page.hairline) * np.abs(np.sin(direction + np.pi / 5)))
    shift = 4  # sub-pixel bits of the drawing
    for p, q, w in zip(curve[:-1], curve[1:], wide, strict=False):
        a = tuple(int(v) for v in np.rint(p * 2**shift))
        b = tuple(int(v) for v in np.rint((p + q) / 2 * 2**shift))
        for c in (a, b):
            cv2.circle(canvas, c, round(float(w) / 2 * 2**shift), 1, -1, cv2.LINE_8, shift)


def _spline(values, t):
    """Catmull-Rom interpolation through ``values`` at parameters ``t``."""
    padded = np.concatenate([[2 * values[0] - values[1]], values, [2 * values[-1] - values[-2]]])
    i = np.minimum(t.astype(int), len(values) - 2)
    u = t - i
    a, b, c, d = (padded[i + k] for k in range(4))
    return 0.5 * (2 * b + (c - a) * u + (2 * a - 5 * b + 4 * c - d) * u**2 + (3 * b - a - 3 * c + d) * u**3)


def _ponds(page, rng, size, stroke):
    """Return where ink stood in pools, 0 to 1; none by default, and then nothing is drawn from ``rng``."""
    if not page.pools:
        return np.zeros(size, np.float32)
    height = _field(rng, size, page.nib * OVER)
    level = np.quantile(height[stroke > 0], 1 - page.pools)
    return np.clip((height - level) * 4, 0, 1).astype(np.float32)


def _wear(page, rng, size, stroke):
    """Return the density factor and the one-hot states (bare, thinned, intact)."""
    height = _field(rng, size, page.patch * OVER) + page.region * _field(rng, size, 60 * OVER)
    on = height[stroke > 0]
    factor = np.ones(size, np.float32)
    states = np.zeros((*size, 3), np.float32)
    bare = height > np.quantile(on, 1 - page.bare) if page.bare else np.zeros(size, bool)
    worn = height > np.quantile(on, 1 - page.bare - page.thinned) if page.bare + page.thinned else bare
    thin = worn & ~bare
    middle, half = (page.thin_low + page.thin_high) / 2, (page.thin_high - page.thin_low) / 2
    depth = middle + half * np.clip(_field(rng, size, 10 * OVER), -1, 1)
    factor[thin] = depth[thin]
    factor[bare] = 0
    states[..., 0], states[..., 1], states[..., 2] = bare, thin, ~worn
    return factor, states


def _soil(page, rng, size):
    """Return the transmission of ruling, stains and show-through."""
    density = np.zeros(size, np.float32)
    if page.ruling:
        step = page.line_space * page.x_height * OVER
        y = 2.6 * page.x_height * OVER + 3 * OVER
        while y < size[0]:
            cv2.line(density, (0, int(y)), (size[1], int(y + 0.01 * size[1])), page.ruling, 3)
            y += step
    for _ in range(page.stains):
        one = np.zeros(size, np.float32)
        centre = (int(rng.uniform(0, size[1])), int(rng.uniform(0, size[0])))
        axes = (int(rng.uniform(0.05, 0.2) * size[1]), int(rng.uniform(0.05, 0.2) * size[0]))
        cv2.ellipse(one, centre, axes, rng.uniform(0, 180), 0, 360, 1, -1)
        rim = one - cv2.erode(one, np.ones((9, 9)))
        density += rng.uniform(0.05, 0.15) * cv2.GaussianBlur(one, (0, 0), 5 * OVER)
        density += 0.08 * cv2.GaussianBlur(rim, (0, 0), 2 * OVER)
    if page.show_through:
        other = attrs.evolve(page, seed=page.seed + 1000)
        ghost, _ = _write(other, np.random.default_rng(other.seed), size)
        density += page.show_through * cv2.GaussianBlur(ghost[:, ::-1].copy(), (0, 0), 2.5 * OVER)
    return 10.0 ** -density.astype(np.float64)


def _lamp(page):
    x = np.linspace(-1, 1, page.width)[None, :]
    y = np.linspace(-1, 1, page.height)[:, None]
    slope = 1 - page.gradient * (1 + x * 0.8 + y * 0.2) / 2
    return slope * (1 - page.vignette * (x**2 + y**2) / 2)


def _field(rng, size, scale):
    """Return smooth noise of unit spread and the given correlation length."""
    shrink = max(1, int(scale / 3))
    small = (size[0] // shrink + 8, size[1] // shrink + 8)
    rough = cv2.GaussianBlur(rng.normal(0, 1, small).astype(np.float32), (0, 0), scale / shrink)
    rough /= rough.std()
    return cv2.resize(rough, (size[1], size[0]), interpolation=cv2.INTER_CUBIC)


def _reduce(array):
    return array.reshape(array.shape[0] // OVER, OVER, array.shape[1] // OVER, OVER, *array.shape[2:]).mean(
        axis=(1, 3)
    )


def _srgb(linear):
    """Encode as sRGB (IEC 61966-2-1), written out here so that the reader's own curve is not used."""
    return np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
