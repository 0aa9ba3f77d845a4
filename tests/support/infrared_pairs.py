"""Pairs of pictures of one rendered page: visible, and infrared taken with another camera from another place."""

from __future__ import annotations

import io

import attrs
import cv2
import numpy as np
from PIL import Image

from support.rendered_pages import Page, render


def infrared_of(
    page: Page,
    left: float,
    *,
    scale: float = 1.0,
    turned_deg: float = 0.0,
    tilt: float = 0.0,
    blur: float = 0.9,
    noise: float = 0.006,
    seed: int = 99,
) -> bytes:
    """Return the infrared picture of a page as a PNG file.

    Parameters
    ----------
    left : float
        What is left of the density in the red, in every channel.
    scale, turned_deg, tilt : float
        Pixels for each of the visible picture's, turn, and how much smaller the far edge is.
    blur, noise : float
        Of the other camera.
    """
    density = left * page.density[0]
    grey = attrs.evolve(
        page,
        density=(density,) * 3,
        support=(0.78, 0.78, 0.78),
        cast=(1.0, 1.0, 1.0),
        jpeg=None,
        blur=0.0,
        noise=0.0,
    )
    codes = render(grey).encoded.astype(np.float64) / 255
    light = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)[..., 0]
    high, wide = light.shape
    out_size = (round(wide * scale * 1.1), round(high * scale * 1.1))
    matrix = _camera((wide, high), out_size, scale, turned_deg, tilt)
    seen = cv2.warpPerspective(light, matrix, out_size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE)
    seen = cv2.GaussianBlur(seen, (0, 0), blur)
    rng = np.random.default_rng(seed)
    seen = np.clip(seen * 0.9 + rng.normal(0, noise, seen.shape) * np.sqrt(np.maximum(seen, 0.02)), 0, 1)
    encoded = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    out = io.BytesIO()
    Image.fromarray(np.rint(255 * encoded).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()


def _camera(
    size: tuple[int, int], out: tuple[int, int], scale: float, turned_deg: float, tilt: float
) -> np.ndarray:
    """Return the homography from the page to the other camera's picture, middle on middle."""
    turn = np.radians(turned_deg)
    rotation = scale * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    to_middle, back = np.eye(3), np.eye(3)
    to_middle[:2, 2] = -np.array(size) / 2
    back[:2, 2] = np.array(out) / 2
    middle = np.eye(3)
    middle[:2, :2] = rotation
    middle[2, 0] = tilt / size[0]
    return back @ middle @ to_middle
