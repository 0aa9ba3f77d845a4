"""From a sheet of skin and a film of ink to a photograph: texture, wear, light, lens, grain, label.

The figures in this module are drawing, not measurement.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo
from scipy.special import expit

from inkhorn.colour.srgb import encode

Array = NDArray[np.float64]
Field = NDArray[np.float32]
LABEL = "invented: the Saltmere roll, rendered"


def noise(shape: tuple[int, int], size: float, rng: np.random.Generator) -> Field:
    """Return smooth noise of unit sd whose features are about ``size`` pixels across."""
    # Drawn small and enlarged where features are large; blurred either way, so that no lattice shows.
    step = max(size / 5.0, 1.0)
    rows, cols = (int(np.ceil(s / step)) + 2 for s in shape)
    small = cv2.GaussianBlur(
        rng.standard_normal((rows, cols), dtype=np.float32), (0, 0), max(0.45 * size / step, 0.3)
    )
    out = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC) if step > 1 else small
    out = out[: shape[0], : shape[1]]
    mean, sd = (float(x[0, 0]) for x in cv2.meanStdDev(out))
    return np.asarray((out - np.float32(mean)) / np.float32(max(sd, 1e-6)), np.float32)


def cloud(shape: tuple[int, int], size: float, rng: np.random.Generator, octaves: int = 4) -> Field:
    """Return fractal noise of unit sd: ``size`` pixels and successive halves."""
    out = np.sum([noise(shape, size / 2**k, rng) * np.float32(0.6**k) for k in range(octaves)], axis=0)
    return np.asarray(out / np.std(out), np.float32)


@attrs.frozen(kw_only=True)
class Sheet:
    """What a skin looks like: bare linear RGB, how strongly it varies, hair side, age (0 new)."""

    rgb: Array
    hair: bool = False
    age: float = 0.0


def skin(sheet: Sheet, shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    """Return the bare sheet in linear RGB, ``(h, w, 3)``, its mean the sheet's own colour."""
    slow = cloud(shape, 28 * scale, rng, 3)
    mid = cloud(shape, 3.2 * scale, rng, 4)
    fine = noise(shape, 0.13 * scale, rng) + fibres(shape, scale, rng)
    dark = 0.026 * (1 + sheet.age) * slow + 0.014 * mid + 0.011 * fine
    dark = dark - follicles(shape, scale, rng) * (0.13 if sheet.hair else 0.055)
    dark = dark - veins(shape, scale, rng) * 0.02
    tint = np.array([0.82, 1.0, 1.3], np.float32)
    out = sheet.rgb.astype(np.float32) * np.exp(dark[..., None] * tint)
    return np.asarray(out * (sheet.rgb / out.mean(axis=(0, 1))), np.float32)


def follicles(shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    """Return the marks of hair: small pits in wavy rows, in little groups, 0 to 1."""
    out = np.zeros(shape, np.float32)
    wave = noise(shape, 14 * scale, rng)
    for row in np.arange(0.6, shape[0] / scale, 1.15):
        for col in np.arange(rng.uniform(0, 1.0), shape[1] / scale, 1.35):
            if rng.random() < 0.35:
                continue
            y = row + 0.5 * float(
                wave[min(int(row * scale), shape[0] - 1), min(int(col * scale), shape[1] - 1)]
            )
            for k in range(int(rng.integers(1, 4))):
                centre = (col + 0.2 * k + 0.06 * rng.standard_normal(), y + 0.07 * rng.standard_normal())
                _dot(out, centre, rng.uniform(0.05, 0.11), rng.uniform(0.3, 1.0), scale)
    return np.asarray(cv2.GaussianBlur(out, (0, 0), max(0.035 * scale, 0.4)), np.float32)


def _dot(field: Field, centre: tuple[float, float], radius: float, depth: float, scale: float) -> None:
    where = (round(centre[0] * scale * 16), round(centre[1] * scale * 16))
    cv2.circle(field, where, max(round(radius * scale * 16), 8), float(depth), -1, cv2.LINE_8, 4)


def fibres(shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    """Return the felt of fibres: noise drawn out along a direction that wanders, unit sd."""
    out = np.zeros(shape, np.float32)
    for turn in rng.uniform(0, np.pi, 3):
        length = max(round(0.9 * scale), 3)
        kernel = np.zeros((length, length), np.float32)
        centre, reach = (length - 1) / 2, np.array([np.cos(turn), np.sin(turn)]) * length / 2
        ends = [(round(centre + k * reach[0]), round(centre + k * reach[1])) for k in (-1, 1)]
        cv2.line(kernel, ends[0], ends[1], 1.0, 1)
        grain = cv2.filter2D(rng.standard_normal(shape, dtype=np.float32), -1, kernel / kernel.sum())
        out += grain * np.clip(0.5 + 0.6 * noise(shape, 4 * scale, rng), 0, None)
    return np.asarray(out / max(float(out.std()), 1e-6), np.float32)


def veins(shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    """Return faint branching lines, 0 to 1: ridges of slow noise."""
    ridge = np.exp(-((cloud(shape, 17 * scale, rng, 3) / 0.055) ** 2))
    return np.asarray(cv2.GaussianBlur(ridge.astype(np.float32), (0, 0), 0.15 * scale), np.float32)


@attrs.frozen(kw_only=True)
class Wetted:
    """An ink film on the sheet: share of each pixel covered, and film over the mean where covered."""

    cover: Field
    film: Field


def settle(
    canvas: Field, up: int, scale: float, rng: np.random.Generator, *, ragged: float, uneven: float
) -> Wetted:
    """Let drawn strokes (``up`` times enlarged) run ragged, pool at their edges and mottle.

    ``ragged`` is the wander of the edge in mm, ``uneven`` the sd of ln film. The mean film where
    a stroke is fully there is one.
    """
    wide = scale * up
    shape = (canvas.shape[0], canvas.shape[1])
    shift = [
        ragged * wide * (0.6 * noise(shape, 0.5 * wide, rng) + 0.8 * noise(shape, 0.12 * wide, rng))
        for _ in range(2)
    ]
    ys, xs = np.indices(shape, dtype=np.float32)
    moved = cv2.remap(canvas, xs + shift[0], ys + shift[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = cv2.distanceTransform((moved > 0.05).astype(np.uint8), cv2.DIST_L2, 3) / wide
    rim = 1 + 0.22 * np.exp(-((inside / 0.14) ** 2))
    mottle = np.exp(
        0.8 * uneven * noise(shape, 0.32 * wide, rng) + 0.5 * uneven * noise(shape, 1.7 * wide, rng)
    )
    wet = cv2.GaussianBlur(moved, (0, 0), 0.07 * wide) * rim * mottle * (moved > 0.05)
    small = (shape[1] // up, shape[0] // up)
    cover = cv2.resize((moved > 0.05).astype(np.float32), small, interpolation=cv2.INTER_AREA)
    film = cv2.resize(wet.astype(np.float32), small, interpolation=cv2.INTER_AREA) / np.maximum(cover, 1e-3)
    whole = film[cover > 0.98]
    mean = float(whole.mean()) if whole.size else 1.0
    return Wetted(cover=np.asarray(cover, np.float32), film=np.asarray(film / mean, np.float32))


def wear(wet: Wetted, scale: float, rng: np.random.Generator, *, intact: float, flaked: float) -> Wetted:
    """Return an old film: flakes gone to bare skin, rubbed areas thinned; shares of the inked area."""
    shape = wet.cover.shape
    inked = wet.cover > 0.5
    rough = 0.75 * cloud(shape, 5 * scale, rng, 3) + 0.65 * noise(shape, 0.45 * scale, rng)
    rough = rough + 0.3 * noise(shape, 0.2 * scale, rng)
    gone = _top(rough, inked, flaked)
    rub = cloud(shape, 16 * scale, rng, 4) + 0.25 * noise(shape, 0.6 * scale, rng)
    share = max(1.0 - intact - flaked, 0.0) / max(1.0 - flaked, 1e-6)
    edge = np.quantile(rub[inked], 1.0 - share) if inked.any() else 0.0
    thin = expit((rub - edge) / 0.09)
    soft = cv2.GaussianBlur(gone.astype(np.float32), (0, 0), max(0.035 * scale, 0.4))
    film = wet.film * (1.0 - thin * (0.62 + 0.1 * noise(shape, 0.5 * scale, rng)))
    return Wetted(
        cover=np.asarray(wet.cover * (1.0 - soft), np.float32),
        film=np.asarray(np.clip(film, 0.03, None), np.float32),
    )


def _top(field: Field, where: NDArray[np.bool_], share: float) -> NDArray[np.bool_]:
    if not where.any() or share <= 0:
        return np.zeros(field.shape, bool)
    return np.asarray(field > np.quantile(field[where], 1.0 - share))


def inked(bare: Field, wet: Wetted, table: tuple[Array, Array]) -> Field:
    """Put the film on the sheet: ``table`` is film over its mean and the ratio of ink to bare, ``(k,)``, ``(k, 3)``."""
    films, ratios = table
    ratio = np.stack([np.interp(wet.film, films, ratios[:, c]) for c in range(3)], axis=-1)
    cover = wet.cover[..., None]
    return np.asarray(bare * ((1.0 - cover) + cover * ratio), np.float32)


def rule(
    page: Field, scale: float, rng: np.random.Generator, lines: list[float], margins: tuple[float, float]
) -> Field:
    """Rule a page: furrows of a hard point across, two plummet lines down, each a little unsteady."""
    height, width = page.shape[:2]
    shade = np.zeros((height, width), np.float32)
    xs = np.arange(0, width, 6)
    for y in lines:
        ys = y * scale + 0.12 * scale * noise((1, len(xs)), 30, rng)[0]
        for off, tone in ((0.0, -1.0), (0.16 * scale, 0.8)):
            points = np.round(np.column_stack([xs, ys + off]) * 16).astype(np.int32)
            layer = np.zeros_like(shade)
            cv2.polylines(
                layer, [points], isClosed=False, color=1.0, thickness=1, lineType=cv2.LINE_8, shift=4
            )
            shade += tone * 0.07 * cv2.GaussianBlur(layer, (0, 0), 0.07 * scale) * 3
    for x in margins:
        layer = np.zeros_like(shade)
        top, foot = (round(x * scale), 0), (round((x + 0.4) * scale), height)
        cv2.line(layer, top, foot, 1.0, max(round(0.1 * scale), 1))
        grain = np.clip(0.6 + 0.5 * noise((height, width), 0.25 * scale, rng), 0, 1)
        shade -= 0.16 * cv2.GaussianBlur(layer, (0, 0), 0.05 * scale) * grain
    return np.asarray(page * np.exp(shade[..., None]), np.float32)


def stain(page: Field, scale: float, rng: np.random.Generator, count: int) -> Field:
    """Put old water stains on a page: a brown tint with a darker tide line."""
    height, width = page.shape[:2]
    ys, xs = np.indices((height, width), dtype=np.float32)
    out = page
    for _ in range(count):
        centre = rng.uniform([0, 0], [height, width])
        size = rng.uniform(6, 16) * scale
        wander = np.maximum(1 + 0.22 * cloud((height, width), 9 * scale, rng, 4), 0.3)
        far = np.hypot(ys - centre[0], (xs - centre[1]) * rng.uniform(0.6, 1.2)) / (size * wander)
        inside = expit((1 - far) / 0.03)
        tide = np.exp(-(((far - 0.985) / 0.03) ** 2))
        depth = rng.uniform(0.03, 0.075) * inside + 0.085 * tide * inside
        out = out * np.exp(-depth[..., None] * np.array([0.6, 1.0, 1.7], np.float32))
    return np.asarray(out, np.float32)


def show_through(page: Field, other: Field, depth: float, scale: float) -> Field:
    """Let the writing of the other side shine through, mirrored, soft and pale."""
    ghost = cv2.GaussianBlur(np.ascontiguousarray(np.minimum(other, 1.0)[:, ::-1]), (0, 0), 0.35 * scale)
    return np.asarray(
        page * (1.0 - depth * ghost[..., None] * np.array([0.8, 1.0, 1.15], np.float32)), np.float32
    )


@attrs.frozen(kw_only=True)
class Camera:
    """A phone over a bench by a window: exposure, balance, fall of light, blur (px), grain, tone, JPEG quality."""

    exposure: float = 0.92
    balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    fall: float = 0.16
    blur: float = 0.7
    grain: float = 0.008
    tone: float = 1.0
    quality: int = 92

    @classmethod
    def of(cls, rng: np.random.Generator) -> Camera:
        """Return a camera and a light as chance has them."""
        return cls(
            exposure=rng.uniform(0.82, 0.98),
            balance=(1 + 0.035 * rng.standard_normal(), 1.0, 1 + 0.045 * rng.standard_normal()),
            fall=rng.uniform(0.08, 0.24),
            blur=rng.uniform(0.55, 0.85),
            grain=rng.uniform(0.005, 0.011),
            tone=1 + 0.015 * rng.standard_normal(),
        )


def photograph(scene: Field, camera: Camera, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Return what the camera makes of a scene in linear RGB: sRGB bytes, ``(h, w, 3)``."""
    height, width = scene.shape[:2]
    ys, xs = np.indices((height, width), dtype=np.float32)
    turn = rng.uniform(0, 2 * np.pi)
    across = ((xs / width - 0.5) * np.cos(turn) + (ys / height - 0.5) * np.sin(turn)) * camera.fall
    corner = -0.09 * ((xs / width - 0.5) ** 2 + (ys / height - 0.5) ** 2)
    light = (1 + across + corner + 0.012 * noise((height, width), width / 3, rng))[..., None]
    seen = scene * light * camera.exposure * np.array(camera.balance, np.float32)
    seen = cv2.GaussianBlur(np.asarray(seen, np.float32), (0, 0), camera.blur)
    deep = np.sqrt(np.clip(seen, 0.002, None))
    speck = rng.standard_normal(seen.shape, dtype=np.float32)
    shot = camera.grain * deep * speck
    grey = 0.5 * camera.grain * deep[..., :1] * noise((height, width), 1.6, rng)[..., None]
    toned = np.clip(seen + shot + grey, 0, 1) ** camera.tone
    return np.asarray(np.clip(np.round(encode(toned) * 255), 0, 255), np.uint8)


def label(pixels: NDArray[np.uint8], text: str) -> Image.Image:
    """Return the picture with a small strip below it that says what it is."""
    height, width = pixels.shape[:2]
    strip = max(height // 40, 18)
    tone = tuple(int(v) for v in np.median(pixels[-12:].reshape(-1, 3), axis=0))
    out = Image.new("RGB", (width, height + strip), tone)
    out.paste(Image.fromarray(pixels), (0, 0))
    font = ImageFont.load_default(size=round(strip * 0.62))
    ink = tuple(int(v * 0.72) for v in tone)
    ImageDraw.Draw(out).text((strip // 2, height + strip // 7), text, fill=ink, font=font)
    return out


def save(picture: Image.Image, path: Path, camera: Camera, facts: Mapping[str, str]) -> Path:
    """Write a JPEG or PNG whose metadata say that it is invented; return the path."""
    words = "; ".join([LABEL, *(f"{k}: {v}" for k, v in facts.items())])
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.suffix.lower() == ".png":
        info = PngInfo()
        info.add_text("Description", words)
        picture.save(path, pnginfo=info)
        return path
    exif = Image.Exif()
    exif[270], exif[305] = words, "inkhorn, simulated"  # ImageDescription, Software
    held = io.BytesIO()
    picture.save(held, "JPEG", quality=camera.quality, subsampling="4:2:0", exif=exif, comment=words)
    path.write_bytes(held.getvalue())
    return path
