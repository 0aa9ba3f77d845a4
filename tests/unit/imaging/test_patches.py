"""Wide patches of ink: dipped strips and drops, deep and thinned, against stains and shadows."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from inkhorn.imaging.read import read_all, read_picture
from inkhorn.imaging.reading import INTACT
from support.rendered_pages import _srgb as encoded

RNG = 31


def _png(linear: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(np.rint(255 * encoded(np.clip(linear, 0, 1))).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()


def _scene(shape: np.ndarray, density: tuple[float, float, float], *, blur: float = 0.9, lamp: float = 0.3):
    """Return a cloudy skin with patches of the given density, lit unevenly, photographed."""
    rng = np.random.default_rng(RNG)
    width = shape.shape[1]
    cloud = cv2.GaussianBlur(rng.normal(0, 1, shape.shape).astype(np.float32), (0, 0), 25)
    grain = cv2.GaussianBlur(rng.normal(0, 1, shape.shape).astype(np.float32), (0, 0), 1.2)
    skin = np.exp(0.02 * cloud / cloud.std() + 0.008 * grain / grain.std())
    film = shape * np.exp(
        0.04 * cv2.GaussianBlur(rng.normal(0, 4, shape.shape).astype(np.float32), (0, 0), 2)
    )
    light = np.array([0.75, 0.66, 0.5]) * skin[..., None] * 10 ** (-film[..., None] * np.array(density))
    light *= (1 - lamp * np.linspace(0, 1, width))[None, :, None]
    seen = cv2.GaussianBlur(light, (0, 0), blur)
    return seen + rng.normal(0, 0.004, seen.shape)


def _strip(share: float) -> np.ndarray:
    shape = np.zeros((420, 640), np.float32)
    half = int(640 * share / 2)
    shape[60:330, 320 - half : 320 + half] = 1
    return shape


def _drops() -> np.ndarray:
    shape = np.zeros((420, 640), np.float32)
    for x, y, r in ((150, 130, 34), (330, 120, 30), (500, 140, 38), (200, 300, 32), (430, 290, 36)):
        cv2.circle(shape, (x, y), r, 1.0, -1)
    return shape


@pytest.mark.parametrize("depth", [0.06, 0.2, 0.5, 1.0])
@pytest.mark.parametrize("shape", [_strip(0.1), _strip(0.35), _drops()], ids=["strip", "wide", "drops"])
def test_a_patch_reads_its_density(shape: np.ndarray, depth: float) -> None:
    """A dipped strip or drops, thinned or not, however wide, read right to 0.03 and 4 %."""
    density = (0.9 * depth, depth, 1.1 * depth)
    reading = read_picture(_png(_scene(shape, density)))
    np.testing.assert_allclose(
        reading.optical_density, density, rtol=0.04, atol=0.03 if depth > 0.1 else 0.015
    )
    assert reading.coverage == pytest.approx(shape.mean(), rel=0.1)
    assert reading.wear.intact > 0.9
    assert any("patches" in warning for warning in reading.warnings)


def test_the_patch_is_what_is_marked() -> None:
    """The overlay marks the whole of the patch as ink and nothing of the skin beside it."""
    shape = _drops()
    _, _, maps = read_all(_png(_scene(shape, (0.2, 0.22, 0.25))))
    inside = cv2.erode(shape, np.ones((9, 9))) > 0
    beside = cv2.dilate(shape, np.ones((9, 9))) == 0
    assert (maps.state[inside] == INTACT).mean() > 0.95
    assert not maps.strokes[beside].any()


def test_a_soft_shadow_is_no_patch() -> None:
    """A shadow as deep as thinned ink, but with a soft edge, is part of the support of the writing in it."""
    shape = np.zeros((420, 640), np.float32)
    for x in range(60, 600, 40):
        cv2.line(shape, (x, 60), (x + 14, 360), 1.0, 8)
    scene = _scene(shape, (0.8, 0.85, 0.9))
    shade = np.zeros((420, 640), np.float32)
    cv2.rectangle(shade, (200, 100), (460, 420), 1.0, -1)
    scene *= (10 ** (-0.2 * cv2.GaussianBlur(shade, (0, 0), 30)))[..., None]
    reading = read_picture(_png(scene))
    np.testing.assert_allclose(reading.optical_density, (0.8, 0.85, 0.9), atol=0.05)
    assert not any("patches" in warning for warning in reading.warnings)


def test_a_stain_on_writing_is_no_patch() -> None:
    """A sharp-edged pale stain that runs over writing does not become the ink."""
    shape = np.zeros((420, 640), np.float32)
    for x in range(60, 600, 40):
        cv2.line(shape, (x, 60), (x + 14, 360), 1.0, 8)
    scene = _scene(shape, (0.8, 0.85, 0.9))
    stain = np.zeros((420, 640), np.float32)
    cv2.ellipse(stain, (320, 210), (150, 90), 0, 0, 360, 1.0, -1)
    scene *= (10 ** (-0.12 * cv2.GaussianBlur(stain, (0, 0), 1)))[..., None]
    reading = read_picture(_png(scene))
    np.testing.assert_allclose(reading.optical_density, (0.8, 0.85, 0.9), atol=0.06)
