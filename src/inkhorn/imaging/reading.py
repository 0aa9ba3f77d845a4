"""What one photograph says: the frozen answer and its JSON form."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.imaging.picture import Floats, Mask, Picture

CHANNELS = ("R", "G", "B")
OUTSIDE, BARE, INTACT, THINNED, GAP, RULING, GHOST, EDGE = range(8)


@attrs.frozen(kw_only=True)
class Wear:
    """Shares of the stroke area, adding to 1."""

    intact: float
    thinned: float
    bare: float

    def to_dict(self) -> dict[str, float]:
        """Return the shares for a JSON answer."""
        return {
            "intact": round(self.intact, 4),
            "thinned": round(self.thinned, 4),
            "bare": round(self.bare, 4),
        }


@attrs.frozen(kw_only=True, eq=False)
class Stroke:
    """One stroke; lengths in px of the opened picture, and in mm where a scale is known.

    Attributes
    ----------
    width_px, raggedness_px, blur_px : float
        As `inkhorn.imaging.edges` defines them.
    channel_density : ndarray (3,)
        Channel density of the ink left along its middle, worn places included; NaN if none is left.
    skips : int
        Places along it without ink.
    darkness, contrast, fill : float
        As `inkhorn.imaging.edges` defines them.
    pooling : float
        How much denser its darkest twentieth is than its middle, relative.
    feathering_px : float
        How far the ink runs out beyond what blur does to the edge.
    """

    width_px: float
    raggedness_px: float
    blur_px: float
    channel_density: NDArray[np.float64]
    skips: int
    darkness: float
    contrast: float
    fill: float
    pooling: float
    feathering_px: float
    mm_per_px: float | None

    @property
    def optical_density(self) -> float | None:
        """Return the scalar density: of the mean light of the channels. None if no ink is left."""
        light = float(np.mean(10**-self.channel_density))
        return -math.log10(light) if math.isfinite(light) else None

    def to_dict(self) -> dict[str, Any]:
        """Return the stroke for a JSON answer; lengths in mm and um are null without a scale."""
        scale = self.mm_per_px
        channels = zip(CHANNELS, self.channel_density, strict=True)
        return {
            "width_mm": _round(self.width_px * scale, 4) if scale else None,
            "width_px": _round(self.width_px, 2),
            "raggedness_um": _round(self.raggedness_px * scale * 1000, 1) if scale else None,
            "raggedness_px": _round(self.raggedness_px, 3),
            "blur_um": _round(self.blur_px * scale * 1000, 1) if scale else None,
            "blur_px": _round(self.blur_px, 2),
            "optical_density": _round(self.optical_density, 4),
            "channel_density": {name: _round(value, 4) for name, value in channels},
            "skips": self.skips,
            "darkness": _round(self.darkness, 4),
            "contrast": _round(self.contrast, 4),
            "fill": _round(self.fill, 4),
            "pooling": _round(self.pooling, 4),
            "feathering_um": _round(self.feathering_px * scale * 1000, 1) if scale else None,
            "feathering_px": _round(self.feathering_px, 3),
        }


@attrs.frozen(kw_only=True, eq=False)
class Maps:
    """Per-pixel maps at working resolution.

    Attributes
    ----------
    density : ndarray float32 (H, W, 3)
        Channel density against ``support``; noise about 0 on bare support.
    ink : ndarray of bool (H, W)
        Stroke area where ink is left (intact or thinned).
    state : ndarray uint8 (H, W)
        ``OUTSIDE`` 0 the sheet, ``BARE`` 1 support, ``INTACT`` 2, ``THINNED`` 3, ``GAP`` 4
        (worn off, inferred), ``RULING`` 5, ``GHOST`` 6 (show-through, soiling), ``EDGE`` 7
        (the blurred rim of a stroke, half ink and half support).
    support : ndarray float32 (H, W, 3)
        Bare support in linear light, as lit.
    strokes : ndarray of bool (H, W)
        Whole stroke area, worn parts included.
    """

    density: Floats
    ink: Mask
    state: NDArray[np.uint8]
    support: Floats
    strokes: Mask


@attrs.frozen(kw_only=True, eq=False)
class PhotoReading:
    """The measures of one photograph.

    Attributes
    ----------
    optical_density : ndarray (3,)
        Channel density R, G, B of the intact ink against bare support near by.
    covariance : ndarray (3, 3)
        Of the error of ``optical_density``.
    spread : ndarray (3,)
        How much the intact ink itself differs from letter to letter (sd).
    support_rgb : ndarray (3,)
        Bare support, linear sRGB, median over the sheet, as the camera gave it.
    lab, support_lab
        CIE Lab of ink and support; ``lab`` is None unless the picture is calibrated.
    coverage : float
        Share of the sheet that strokes take up, worn parts included.
    wear, wear_sd : Wear
    blur_px : float
        Standard deviation of the picture's own blur, working px.
    stroke_px : float
        Usual stroke width, working px.
    strokes : tuple of Stroke
    rules : int
        Ruled lines found and left out.
    warnings : tuple of str
    scale_mm_per_px : float or None
        Of the source picture; None unless the caller gave it.
    card : bool
        A card was found: lengths and, where ``lab`` is given, light are calibrated by it.
    lab_covariance, support_lab_covariance : ndarray (3, 3) or None
        Of the errors of ``lab`` and ``support_lab`` where the picture is calibrated.
    scale_sd : float or None
        Error of every length as a share of it, where a card gave the scale.
    state : ndarray uint8 (H, W)
        The map `Maps.state` at working resolution, drawn when first asked for.
    card : bool
        A card was found: lengths and, where ``lab`` is given, light are calibrated by it.
    camera : str
        Make and model of the camera, where the file tells them.
    flat : Picture or None
        Where a card was found: the flat, calibrated picture that was read, for the overlay.
    """

    optical_density: NDArray[np.float64]
    covariance: NDArray[np.float64]
    spread: NDArray[np.float64]
    support_rgb: NDArray[np.float64]
    lab: NDArray[np.float64] | None
    support_lab: NDArray[np.float64] | None
    coverage: float
    wear: Wear
    wear_sd: Wear
    blur_px: float
    stroke_px: float
    strokes: tuple[Stroke, ...]
    rules: int
    warnings: tuple[str, ...]
    scale_mm_per_px: float | None
    draw: Callable[[], NDArray[np.uint8]]
    card: bool = False
    lab_covariance: NDArray[np.float64] | None = None
    support_lab_covariance: NDArray[np.float64] | None = None
    scale_sd: float | None = None
    flat: Picture | None = None
    camera: str = ""

    @functools.cached_property
    def state(self) -> NDArray[np.uint8]:
        """Return what each pixel is, for the overlay."""
        return self.draw()

    @property
    def sd(self) -> NDArray[np.float64]:
        """Return one standard deviation of each channel density, (3,)."""
        return np.sqrt(np.diag(self.covariance))

    def to_dict(self) -> dict[str, Any]:
        """Return the answer of ``inkhorn photo PICTURE --json``."""
        return {
            "card": self.card,
            "scale_mm_per_px": self.scale_mm_per_px,
            "optical_density": {
                name: {"value": _round(self.optical_density[i], 4), "sd": _round(self.sd[i], 4)}
                for i, name in enumerate(CHANNELS)
            },
            "spread": {name: _round(self.spread[i], 4) for i, name in enumerate(CHANNELS)},
            "lab": _lab(self.lab),
            "lab_sd": _lab(_sd(self.lab_covariance)),
            "support_lab": _lab(self.support_lab),
            "support_lab_sd": _lab(_sd(self.support_lab_covariance)),
            "scale_sd": _round(self.scale_sd, 5),
            "coverage": _round(self.coverage, 5),
            "strokes": [stroke.to_dict() for stroke in self.strokes],
            "wear": self.wear.to_dict(),
            "warnings": list(self.warnings),
        }


def _round(number: float | None, digits: int) -> float | None:
    return None if number is None or not np.isfinite(number) else round(float(number), digits)


def _sd(covariance: NDArray[np.float64] | None) -> NDArray[np.float64] | None:
    return None if covariance is None else np.sqrt(np.diag(covariance))


def _lab(lab: NDArray[np.float64] | None) -> dict[str, float | None] | None:
    return None if lab is None else {name: _round(v, 2) for name, v in zip("Lab", lab, strict=True)}
