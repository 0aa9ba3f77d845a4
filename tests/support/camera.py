"""A rendered camera that photographs our printed card with a strip on it; it shares no code with the reader.

The card is what a PDF renderer makes of the PDF itself. A printer spreads its
black, light spreads in its paper, its greys are its own, and it prints at a size of its own.
Support, ink, paper and table have spectra; the camera has sensors of its
own, a matrix fitted to other spectra, a white of its own, saturation, exposure,
glare, a tone curve, noise, blur, perhaps Display P3, and a JPEG file.
"""

from __future__ import annotations

import functools
import io

import attrs
import cv2
import numpy as np
import pypdfium2
from PIL import Image, ImageCms
from scipy.special import ndtr, ndtri

DPI = 600
PX = DPI / 25.4
NM = np.arange(400, 701, 10.0)
TONES = ("srgb", "contrast", "strong", "filmic", "flat", "gamma", "clipped", "shoulder")


@attrs.frozen(kw_only=True)
class Shot:
    """One photograph to render. Lengths in mm, angles in degrees."""

    pdf: bytes
    card_size: tuple[float, float]
    window: tuple[float, float, float, float]
    pixels: tuple[int, int] = (1800, 1350)
    fill: float = 0.85
    tilt: float = 10.0
    tilt_way: float = 30.0
    turn: float = 5.0
    bend: float = 0.0
    scale: float = 1.0
    spread: float = 0.015
    scatter: float = 0.1
    black: float = 0.05
    grey_gamma: float = 1.0
    paper: tuple[float, float, float] = (0.85, 0.02, 0.0)
    density: float = 0.7
    brown: float = 0.4
    skin: tuple[float, float] = (0.78, 0.45)
    stroke: float = 0.9
    strip: tuple[float, float] = (75.0, 48.0)
    strip_turn: float = 3.0
    tone: str = "srgb"
    exposure: float = 0.85
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    daylight: float = 6500.0
    sensor: int = 0
    saturation: float = 1.0
    glare: float = 0.01
    vignette: float = 0.1
    slope: float = 0.15
    shadow: float = 0.0
    noise: float = 0.004
    blur: float = 0.7
    sharpen: float = 0.0
    p3: bool = False
    jpeg: int | None = 92
    seed: int = 0


@attrs.frozen(kw_only=True, eq=False)
class Photograph:
    """A file and what is true of it.

    ``density`` is that of the ink in linear sRGB under D65 against its support, ``lab`` and
    ``support_lab`` CIE Lab under D65, ``to_px`` a function from true mm on the card to px.
    """

    data: bytes
    density: np.ndarray
    lab: np.ndarray
    support_lab: np.ndarray
    paper_lab: np.ndarray
    width: float
    to_px: object


def any_shot(seed: int, pdf: bytes, card_size, window, **fixed) -> Shot:
    """Return a random photograph of a card; every trait of printer, paper, light and camera is drawn."""
    r = np.random.default_rng(seed + 10_000)
    long_side = int(r.uniform(1900, 3000))
    drawn = {
        "pixels": (long_side, int(long_side * 0.75)),
        "fill": r.uniform(0.7, 0.95),
        "tilt": r.uniform(0, 38),
        "tilt_way": r.uniform(0, 360),
        "turn": r.choice([0, 90, 180, 270]) + r.normal(0, 8),
        "bend": r.normal(0, 0.004),
        "scale": r.uniform(0.97, 1.03),
        "spread": r.uniform(0.0, 0.035),
        "scatter": np.exp(r.normal(np.log(0.1), 0.4)),
        "black": r.uniform(0.03, 0.08),
        "grey_gamma": np.exp(r.normal(0, 0.12)),
        "paper": (r.uniform(0.80, 0.90), r.uniform(0.0, 0.06), r.normal(0, 0.01)),
        "density": r.uniform(0.3, 1.0),
        "brown": r.uniform(0.1, 0.7),
        "skin": (r.uniform(0.68, 0.82), r.uniform(0.25, 0.5)),
        "stroke": r.uniform(0.6, 1.3),
        "strip_turn": r.normal(0, 5),
        "tone": str(r.choice(TONES)),
        "exposure": r.uniform(0.5, 0.82),
        "cast": tuple(np.exp(r.normal(0, [0.05, 0.0, 0.08]))),
        "daylight": r.uniform(5200, 7500),
        "sensor": int(r.integers(0, 1000)),
        "saturation": r.normal(1.06, 0.06),
        "glare": np.exp(r.normal(np.log(0.012), 0.5)),
        "vignette": r.uniform(0, 0.3),
        "slope": r.uniform(0, 0.4),
        "shadow": float(r.choice([0, 0, 0, 0.4])),
        "noise": r.uniform(0.001, 0.008),
        "blur": r.uniform(0.5, 1.1),
        "sharpen": float(r.choice([0, 0.3, 0.6])),
        "p3": bool(r.random() < 0.4),
        "jpeg": int(r.choice([80, 90, 95])),
        "seed": seed,
    }
    return Shot(pdf=pdf, card_size=card_size, window=window, **{**drawn, **fixed})


# ---------------------------------------------------------------- light and matter


def _gauss(peak, low, high):
    return np.exp(-0.5 * ((NM - peak) / np.where(peak > NM, low, high)) ** 2)


@functools.cache
def observer() -> np.ndarray:
    """Return the CIE 1931 2 degree observer by the sums of lobes of Wyman, Sloan and Shirley, JCGT 2(2), 2013; (31, 3)."""
    x = (
        1.056 * _gauss(599.8, 37.9, 31.0)
        + 0.362 * _gauss(442.0, 16.0, 26.7)
        - 0.065 * _gauss(501.1, 20.4, 26.2)
    )
    y = 0.821 * _gauss(568.8, 46.9, 40.5) + 0.286 * _gauss(530.9, 16.3, 31.1)
    z = 1.217 * _gauss(437.0, 11.8, 36.0) + 0.681 * _gauss(459.0, 26.0, 13.8)
    return np.stack([x, y, z], axis=1)


def lamp(kelvin: float) -> np.ndarray:
    """Return a black body of a temperature (Planck), daylight enough; 1 at 560 nm."""
    planck = NM**-5 / np.expm1(1.4388e7 / NM / kelvin)
    return planck / planck[16]


TO_RGB = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)  # IEC 61966-2-1
WHITE = np.array([0.9505, 1.0, 1.0890])


def xyz_of(spectrum: np.ndarray) -> np.ndarray:
    """Return XYZ of a reflectance under this renderer's D65, scaled so that a perfect white is exactly D65's white."""
    weights = observer() * lamp(6500)[:, None]
    weights = weights / weights.sum(axis=0) * WHITE
    return spectrum @ weights


def srgb_of(spectrum: np.ndarray) -> np.ndarray:
    """Return linear sRGB of a reflectance under D65."""
    return xyz_of(spectrum) @ TO_RGB.T


def lab_of(spectrum: np.ndarray) -> np.ndarray:
    """Return CIE Lab under D65 (ISO/CIE 11664-4), written out here."""
    t = xyz_of(spectrum) / WHITE
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def skin_spectrum(top: float, drop: float) -> np.ndarray:
    """Return a parchment: rising from violet to a plateau."""
    return top * (1 - drop * np.exp(-(NM - 400) / 90))


def ink_spectrum(support: np.ndarray, density: float, brown: float) -> np.ndarray:
    """Return ink over a support: a broad band and a brown tail, twice through; the surface mirrors 2 %."""
    shape = (1 - brown) * np.exp(-(((NM - 575) / 150) ** 2)) + brown * np.exp(-(NM - 400) / 180)
    shape = shape / shape[15]
    return 0.02 + (support - 0.02) * 10 ** (-density * shape)


def paper_spectrum(top: float, blue: float, tint: float) -> np.ndarray:
    """Return office paper, brightened in the blue (optical brightener) and perhaps a little tinted."""
    return top * (1 + blue * _gauss(440, 20, 25) + tint * (NM - 550) / 150)


@functools.cache
def _training() -> np.ndarray:
    r = np.random.default_rng(77)
    out = []
    for _ in range(160):
        levels = r.uniform(0.05, 0.9) * np.exp(r.normal(0, 0.5, 6))
        smooth = np.interp(NM, np.linspace(400, 700, 6), np.clip(levels, 0.02, 0.95))
        out.append(np.convolve(np.pad(smooth, 3, mode="edge"), np.ones(7) / 7, "valid"))
    return np.array(out)


def sensor(number: int) -> np.ndarray:
    """Return three sensitivities of a make of its own, (31, 3)."""
    r = np.random.default_rng(number)
    peaks, widths = (
        np.array([600, 535, 460]) + r.normal(0, 5, 3),
        np.array([36, 38, 30]) * np.exp(r.normal(0, 0.1, 3)),
    )
    base = np.stack([_gauss(p, w, w) for p, w in zip(peaks, widths, strict=True)], axis=1)
    return base + 0.06 * base[:, [1, 2, 1]]


def camera_matrix(shot: Shot) -> tuple[np.ndarray, np.ndarray]:
    """Return sensor weights under the lamp, and the maker's matrix to linear sRGB (fitted to other spectra)."""
    weights = sensor(shot.sensor) * lamp(shot.daylight)[:, None]
    weights = weights / weights.sum(axis=0)
    raw, wanted = _training() @ weights, np.array([srgb_of(s) for s in _training()])
    matrix = np.linalg.lstsq(raw, wanted, rcond=None)[0]
    matrix = matrix / matrix.sum(axis=0)  # white stays white
    luma = np.array([0.2126, 0.7152, 0.0722])
    saturate = shot.saturation * np.eye(3) + (1 - shot.saturation) * np.outer(luma, np.ones(3))
    return weights, matrix @ saturate


# ---------------------------------------------------------------- the printed card


@functools.lru_cache(maxsize=4)
def raster(pdf: bytes, card_size: tuple[float, float]) -> np.ndarray:
    """Return the card cut from its sheet, as the PDF renderer draws it at 600 dpi; float32 (h, w), white 1."""
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0]
        width, height = (side / 72 * 25.4 for side in page.get_size())
        image = (
            np.asarray(page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L"), np.float32) / 255
        )
    wide, high = card_size
    if wide > width - 10:  # a large card lies on its side: turned left on the sheet
        image, width, height = np.ascontiguousarray(np.rot90(image, -1)), height, width
    left, top = (width - wide) / 2 * PX, (height - high) / 2 * PX
    move = np.array([[1, 0, left], [0, 1, top]])
    size = (round(wide * PX), round(high * PX))
    return cv2.warpAffine(image, move, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)


@functools.lru_cache(maxsize=4)
def printed(
    pdf: bytes, card_size: tuple[float, float], spread: float, scatter: float, black: float, gamma: float
) -> np.ndarray:
    """Return light that the printed card gives back, against its paper; float32 (h, w)."""
    image = raster(pdf, card_size)
    flat = (cv2.dilate(image, np.ones((9, 9))) - cv2.erode(image, np.ones((9, 9)))) < 1e-3
    grey = cv2.dilate((flat & (image > 0.02) & (image < 0.98)).astype(np.uint8), np.ones((9, 9))) > 0
    soft = 0.03 * PX
    share = cv2.GaussianBlur(1 - image, (0, 0), soft)
    share = ndtr(ndtri(np.clip(share, 1e-6, 1 - 1e-6)) + spread * PX / soft).astype(np.float32)
    through = 1 - (1 - np.sqrt(black)) * share
    wide = cv2.GaussianBlur(through, (0, 0), scatter * PX) * 0.5
    wide += cv2.GaussianBlur(through, (0, 0), scatter * PX / 3) * 0.5
    light = through * wide
    linear = np.where(image <= 0.04045, image / 12.92, ((image + 0.055) / 1.055) ** 2.4)
    halftone = black + (1 - black) * linear**gamma
    return np.where(grey, halftone, light).astype(np.float32)


def printed_density(shot: Shot, rect: tuple[float, float, float, float]) -> float:
    """Return what an instrument finds on a part of the printed card (left, top, width, height, mm), against paper."""
    light = printed(shot.pdf, shot.card_size, shot.spread, shot.scatter, shot.black, shot.grey_gamma)
    left, top, wide, high = (round(side * PX) for side in rect)
    return -float(np.log10(light[top : top + high, left : left + wide].mean()))


# ---------------------------------------------------------------- the strip


def _segments(shot: Shot) -> np.ndarray:
    """Return strokes (n, 4) x0 y0 x1 y1 on the strip, mm from its middle, clear of each other."""
    r = np.random.default_rng(shot.seed + 5)
    wide, high = shot.strip
    out = []
    rows = int((high - 8) / 8)
    for row in range(rows):
        x = -wide / 2 + 5
        y = -high / 2 + 5 + row * 8
        while x < wide / 2 - 9:
            lean, length = r.uniform(-1.2, 1.2), r.uniform(4.0, 6.0)
            out.append((x + 1, y, x + 1 + lean, y + length))
            x += r.uniform(3.2, 5.0) + shot.stroke
    return np.array(out)


STRIP_PX = 30.0


def strip_cover(shot: Shot) -> np.ndarray:
    """Return the share of each pixel of the strip that is inked; float32, at `STRIP_PX` px/mm."""
    wide, high = (round(side * STRIP_PX) for side in shot.strip)
    cover = np.zeros((high, wide), np.float32)
    for x0, y0, x1, y1 in (_segments(shot) + np.tile(np.array(shot.strip) / 2, 2)) * STRIP_PX:
        reach = shot.stroke * STRIP_PX
        rows = slice(max(0, int(min(y0, y1) - reach)), int(max(y0, y1) + reach))
        columns = slice(max(0, int(min(x0, x1) - reach)), int(max(x0, x1) + reach))
        y, x = np.mgrid[rows, columns].astype(np.float32)
        share = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2)
        share = np.clip(share[: cover.shape[0] - rows.start], 0, 1)
        away = np.hypot(x - x0 - share * (x1 - x0), y - y0 - share * (y1 - y0))
        part = cover[rows, columns]
        np.maximum(part, np.clip(shot.stroke * STRIP_PX / 2 - away + 0.5, 0, 1), out=part)
    return cover


# ---------------------------------------------------------------- the photograph


def _view(shot: Shot) -> np.ndarray:
    """Return the homography from true mm on the table (card's middle at 0) to px: a pinhole that looks at it obliquely."""
    tilt, way, turn = np.deg2rad([shot.tilt, shot.tilt_way, shot.turn])

    def about_z(a):
        return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])

    lean = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    rotation = about_z(way) @ lean @ about_z(turn - way)
    wide, high = shot.pixels
    focal = 1.1 * wide
    w, h = np.array(shot.card_size) * shot.scale / 2
    corners = np.array([(-w, -h, 0), (w, -h, 0), (w, h, 0), (-w, h, 0)]) @ rotation.T
    distance = 100.0
    for _ in range(60):  # step back until the card fills the picture as asked
        at = focal * corners[:, :2] / (corners[:, 2:] + distance)
        span = np.ptp(at, axis=0) / np.array([wide, high])
        distance *= float(span.max() / shot.fill)
    at = focal * corners[:, :2] / (corners[:, 2:] + distance)
    shift = -(at.max(axis=0) + at.min(axis=0)) / 2
    k = np.array([[focal, 0, (wide - 1) / 2 + shift[0]], [0, focal, (high - 1) / 2 + shift[1]], [0, 0, 1]])
    return k @ np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, distance]])


def _tone(name: str, x: np.ndarray) -> np.ndarray:
    """Return the encoded value of linear exposure 0 to 1: what makers of cameras do instead of the sRGB curve."""
    x = np.clip(x, 0, 1)
    srgb = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)
    s = srgb * srgb * (3 - 2 * srgb)
    if name == "contrast":
        return 0.7 * srgb + 0.3 * s
    if name == "strong":
        return 0.4 * srgb + 0.6 * s
    if name == "filmic":
        a, b, c, d, e = 2.51, 0.03, 2.43, 0.59, 0.14  # the widely used rational curve, here over x
        y = x * 0.8
        top = 0.8 * (a * 0.8 + b) / (0.8 * (c * 0.8 + d) + e)
        return np.clip((y * (a * y + b)) / (y * (c * y + d) + e) / top, 0, 1) ** (1 / 2.2)
    if name == "flat":
        return np.log1p(30 * x) / np.log1p(30)
    if name == "gamma":
        return x ** (1 / 1.9)
    if name == "clipped":
        return np.clip((srgb - 0.06) / 0.94, 0, 1)
    if name == "shoulder":
        return (-np.expm1(-2.2 * x) / -np.expm1(-2.2)) ** (1 / 2.3)
    return srgb


def photograph(shot: Shot) -> Photograph:
    """Render the photograph; the same shot gives the same file."""
    rng = np.random.default_rng(shot.seed)
    wide, high = shot.pixels
    over = 2
    size = (wide * over, high * over)
    up = np.array([[over, 0, (over - 1) / 2], [0, over, (over - 1) / 2], [0, 0, 1.0]])
    view = _view(shot)
    card_w, card_h = shot.card_size
    # the card, printed `scale` times its size, its middle at the origin of the table
    to_table = np.array(
        [[shot.scale, 0, -card_w / 2 * shot.scale], [0, shot.scale, -card_h / 2 * shot.scale], [0, 0, 1.0]]
    )
    from_raster = np.array([[1 / PX, 0, 0.5 / PX], [0, 1 / PX, 0.5 / PX], [0, 0, 1.0]])
    light = printed(shot.pdf, shot.card_size, shot.spread, shot.scatter, shot.black, shot.grey_gamma)
    density = np.hypot(*(view @ [1, 0, 0])[:2]) / view[2, 2]  # px per mm, roughly
    soft = max(0.3, 0.5 * PX * shot.scale / (density * over) * 0.8)
    card_map = up @ view @ to_table @ from_raster
    tau = _warp(cv2.GaussianBlur(light, (0, 0), soft), card_map, size, shot)
    on_card = _warp(np.ones_like(light), card_map, size, shot)
    cover = strip_cover(shot)
    a = np.deg2rad(shot.strip_turn)
    left, top, w, h = shot.window
    middle = np.array([left + w / 2, top + h / 2]) * shot.scale - np.array(shot.card_size) / 2 * shot.scale
    strip_map = (
        up
        @ view
        @ np.array([[np.cos(a), -np.sin(a), middle[0]], [np.sin(a), np.cos(a), middle[1]], [0, 0, 1]])
        @ np.array(
            [
                [1 / STRIP_PX, 0, (0.5 / STRIP_PX) - shot.strip[0] / 2],
                [0, 1 / STRIP_PX, 0.5 / STRIP_PX - shot.strip[1] / 2],
                [0, 0, 1],
            ]
        )
    )
    soft = max(0.3, 0.5 * STRIP_PX / (density * over) * 0.8)
    inked = _warp(cv2.GaussianBlur(cover, (0, 0), soft), strip_map, size, shot)
    on_strip = _warp(np.ones_like(cover), strip_map, size, shot)

    skin = skin_spectrum(*shot.skin)
    ink = ink_spectrum(skin, shot.density, shot.brown)
    paper = paper_spectrum(*shot.paper)
    table = 0.22 * (1 - 0.5 * np.exp(-(NM - 400) / 150))
    weights, matrix = camera_matrix(shot)
    seen = [(spectrum @ weights) @ matrix for spectrum in (table, paper, skin, ink)]
    scene = np.empty((high, wide, 3), np.float32)
    for c in range(3):
        plane = seen[0][c] * (1 - on_card) + seen[1][c] * tau * on_card
        plane = plane * (1 - on_strip) + (seen[2][c] * (1 - inked) + seen[3][c] * inked) * on_strip
        scene[..., c] = cv2.resize(plane.astype(np.float32), (wide, high), interpolation=cv2.INTER_AREA)
    grain = cv2.GaussianBlur(rng.normal(0, 1, (high, wide)).astype(np.float32), (0, 0), 3)
    scene *= (1 + 0.008 * grain / grain.std())[..., None]
    data = _develop(shot, scene, rng, float(np.mean(seen[1])))

    def to_px(points):
        """Return px of true mm from the card's upper left corner."""
        points = np.asarray(points, float) - np.array(shot.card_size) * shot.scale / 2
        flat = np.concatenate([points, np.ones((*points.shape[:-1], 1))], -1) @ view.T
        return bend(flat[..., :2] / flat[..., 2:], shot)

    bare, dark = srgb_of(skin), srgb_of(ink)
    return Photograph(
        data=data,
        density=-np.log10(dark / bare),
        lab=lab_of(ink),
        support_lab=lab_of(skin),
        paper_lab=lab_of(paper),
        width=shot.stroke,
        to_px=to_px,
    )


def bend(px: np.ndarray, shot: Shot) -> np.ndarray:
    """Return where the lens puts a point that a pinhole would put at ``px``."""
    middle = (np.array(shot.pixels) - 1) / 2
    r = (px - middle) / (np.hypot(*shot.pixels) / 2)
    return middle + (px - middle) * (1 + shot.bend * (r**2).sum(-1, keepdims=True))


def _warp(image: np.ndarray, matrix: np.ndarray, size, shot: Shot) -> np.ndarray:
    if abs(shot.bend) < 1e-9:
        return cv2.warpPerspective(image, matrix, size, flags=cv2.INTER_LINEAR, borderValue=0)
    x, y = _straight(size, shot.bend)
    back = np.linalg.inv(matrix).astype(np.float32)
    depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
    at_x = (back[0, 0] * x + back[0, 1] * y + back[0, 2]) / depth
    at_y = (back[1, 0] * x + back[1, 1] * y + back[1, 2]) / depth
    return cv2.remap(image, at_x, at_y, cv2.INTER_LINEAR, borderValue=0)


@functools.lru_cache(maxsize=1)
def _straight(size, bend: float) -> tuple[np.ndarray, np.ndarray]:
    """Return where a pinhole would have put each pixel of a bent picture."""
    y, x = np.mgrid[0 : size[1], 0 : size[0]].astype(np.float32)
    middle = (np.array(size, np.float32) - 1) / 2
    half = np.float32(np.hypot(*size) / 2)
    u, v = (x - middle[0]) / half, (y - middle[1]) / half
    p, q = u, v
    for _ in range(3):
        k = 1 + np.float32(bend) * (p * p + q * q)
        p, q = u / k, v / k
    return p * half + middle[0], q * half + middle[1]


def _develop(shot: Shot, scene: np.ndarray, rng: np.random.Generator, paper: float) -> bytes:
    high, wide = scene.shape[:2]
    y, x = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j].astype(np.float32)
    way = np.random.default_rng(shot.seed + 9).uniform(0, 2 * np.pi)
    fall = 1 - shot.slope * (0.5 + 0.5 * (x * np.cos(way) + y * np.sin(way)) / 1.42)
    fall *= 1 - shot.vignette * (x**2 + y**2) / 2
    if shot.shadow:  # a hand or a window frame: one side darker, with a soft edge
        edge = x * np.cos(way + 1) + y * np.sin(way + 1)
        fall *= 1 - shot.shadow * ndtr((edge - 0.35) / 0.15)
    scene = scene * fall[..., None] * np.array(shot.cast, np.float32) * (shot.exposure / paper)
    scene = cv2.GaussianBlur(scene, (0, 0), shot.blur)
    scene = scene + shot.glare * scene.mean(axis=(0, 1))
    scene = scene + rng.normal(0, 1, scene.shape).astype(np.float32) * shot.noise * np.sqrt(
        np.maximum(scene, 0.02)
    )
    if shot.p3:  # SMPTE EG 432-1 primaries with D65: linear sRGB to linear P3
        scene = (
            scene
            @ np.array([[0.8225, 0.1774, 0.0], [0.0332, 0.9669, 0.0], [0.0171, 0.0724, 0.9108]], np.float32).T
        )
    codes = _tone(shot.tone, scene)
    if shot.sharpen:
        codes = codes + shot.sharpen * (codes - cv2.GaussianBlur(codes, (0, 0), 1.2))
    image = Image.fromarray(np.rint(np.clip(codes, 0, 1) * 255).astype(np.uint8))
    out = io.BytesIO()
    more = {"icc_profile": display_p3()} if shot.p3 else {}
    if shot.jpeg:
        image.save(out, "JPEG", quality=shot.jpeg, **more)
    else:
        image.save(out, "PNG", **more)
    return out.getvalue()


@functools.cache
def display_p3() -> bytes:
    """Return a Display P3 profile made here: the sRGB profile of the library with other colorants (ICC.1, 9.2).

    The three colorant tags are XYZ under D50 as 16.16 fixed point, P3 primaries adapted by Bradford.
    """
    base = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    wanted = {
        b"rXYZ": (0.5151, 0.2412, -0.0011),
        b"gXYZ": (0.2920, 0.6922, 0.0419),
        b"bXYZ": (0.1571, 0.0666, 0.7841),
    }
    for i in range(int.from_bytes(base[128:132], "big")):
        entry = 132 + 12 * i
        name = bytes(base[entry : entry + 4])
        if name in wanted:
            at = int.from_bytes(base[entry + 4 : entry + 8], "big") + 8
            for k, v in enumerate(wanted[name]):
                base[at + 4 * k : at + 4 * k + 4] = round(v * 65536).to_bytes(4, "big", signed=True)
    return bytes(base)
