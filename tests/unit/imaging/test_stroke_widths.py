"""The width of strokes, against lines whose edges are integrals of a known gaussian."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from scipy.special import ndtr

from inkhorn.imaging.read import read_picture
from inkhorn.imaging.settings import from_handbook
from inkhorn.imaging.widths import width_of
from support.rendered_pages import _srgb as encoded

SETTINGS = from_handbook()


def _page(width: float, blur: float, lost: float, noise: float = 0.003) -> bytes:
    """Return strokes of a width (px) at several slants, their light loss a difference of normal integrals."""
    y, x = np.mgrid[0:500, 0:760].astype(np.float64)
    light = np.ones_like(x)
    for k in range(7):
        slant = np.deg2rad(-9 + 5 * k)
        across = (x - (90 + 95 * k)) * np.cos(slant) - (y - 250) * np.sin(slant)
        along = (x - (90 + 95 * k)) * np.sin(slant) + (y - 250) * np.cos(slant)
        share = ndtr((across + width / 2) / blur) - ndtr((across - width / 2) / blur)
        ends = ndtr((along + 180) / blur) - ndtr((along - 180) / blur)
        light -= lost * share * ends
    rgb = light[..., None] * np.array([0.75, 0.68, 0.55])
    rgb += np.random.default_rng(5).normal(0, noise, rgb.shape)
    out = io.BytesIO()
    Image.fromarray(np.rint(255 * encoded(np.clip(rgb, 0, 1))).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize("lost", [0.5, 0.85])
@pytest.mark.parametrize(
    ("width", "blur"),
    [(3.5, 0.5), (3.5, 0.9), (6.0, 0.7), (6.0, 1.7), (11.0, 0.7), (11.0, 1.8), (24.0, 1.2), (24.0, 3.0)],
)
def test_a_line_of_known_width_is_read_as_wide(width: float, blur: float, lost: float) -> None:
    """Whatever the blur, a stroke is as wide as the places of half the light are apart, to a quarter of a px."""
    widths = [stroke.width_px for stroke in read_picture(_page(width, blur, lost)).strokes]
    assert len(widths) >= 3
    assert np.median(widths) == pytest.approx(width, abs=0.25)


@pytest.mark.parametrize("blur", [0.4, 1.0, 2.0])
@pytest.mark.parametrize("width", [2.5, 4.0, 9.0, 40.0])
def test_the_width_follows_from_two_contours(width: float, blur: float) -> None:
    """Contours taken from the integral of a gaussian edge, solved here by bisection, give the width back."""

    def lost(x: float) -> float:
        return float(ndtr((x + width / 2) / blur) - ndtr((x - width / 2) / blur))

    def place(share: float) -> float:
        low, high = 0.0, width + 12 * blur
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if lost(middle) > share * lost(0.0) else (low, middle)
        return low

    got = float(width_of(2 * place(0.6), place(0.1) - place(0.9), SETTINGS))
    assert got == pytest.approx(width, abs=0.01)


def test_below_its_blur_a_line_has_only_a_greatest_width() -> None:
    """A line much narrower than its blur is read as wide as the blur's spread, never as nothing or less."""
    assert 0.8 < float(width_of(2.03, 1.69, SETTINGS)) < 1.2
