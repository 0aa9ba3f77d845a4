"""Whether wide patches are the ink of a picture, or stains, shadows, sheets and small print."""

from __future__ import annotations

import math

import numpy as np

from inkhorn.imaging.edges import LEAST_RATIO
from inkhorn.imaging.patches import Patches
from inkhorn.imaging.picture import Floats, Mask
from inkhorn.imaging.pixels import closed, disc, erode, filled, gauss, nearest, opened, widened
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.surface import spread_of


def is_ink(
    patches: Patches, linear: Floats, lost: Floats, sheet: Mask, noise: float, settings: Settings
) -> bool:
    """Return whether wide patches are the ink of a picture, and not stains on a written page."""
    patch = nearest(patches.mask, sheet.shape[::-1])
    least = max(settings.least_contrast, settings.noise_steps * noise)
    size, lost = np.count_nonzero(patch), gauss(lost, 3)
    beside = sheet & ~widened(patch, disc(9)) & (lost > max(least, settings.soil_depth * patches.lost))
    # writing that a stain runs over is deeper than it
    over = widened(patch, disc(11)) & (lost > max(least, patches.lost / settings.soil_depth))
    alone = np.count_nonzero(beside) < settings.patch_alone * size
    return bool(
        alone
        and np.count_nonzero(over) < settings.patch_over * size
        and _is_even(linear, patch, sheet, patches.lost, settings)
        and not _is_written(linear, patch, patches.lost, settings)
    )


def _is_written(linear: Floats, patch: Mask, lost: float, settings: Settings) -> bool:
    """Return whether narrow dark marks lie on wide patches: then these are sheets, or shadows on one, and not ink.

    Told from the picture alone: no support is known yet that could be trusted where light is as uneven as that.
    """
    reach = settings.patch_side * max(patch.shape)
    region = filled(closed(patch.astype(np.uint8), disc(2 * round(reach) + 1)) > 0)
    side = disc(2 * max(3, round(reach / 2)) + 1)
    density = -np.log10(np.maximum(gauss(linear.mean(axis=2), 1), np.float32(1e-4)))
    inner = erode(region.astype(np.uint8), side) > 0
    if not inner.any():
        return False
    above = (density - opened(density, side))[inner]
    step = -math.log10(max(1 - lost, LEAST_RATIO))
    return float((above > settings.written_deep * step).mean()) > settings.written_share


def _is_even(linear: Floats, patch: Mask, sheet: Mask, lost: float, settings: Settings) -> bool:
    """Return whether the inside of wide patches is ink, and not print so small that its lines run together.

    Ink adds little to the fine texture of the support beside it; print of a few px a letter is nothing but texture.
    """
    scale = max(1.0, max(patch.shape) / settings.coarse_side)  # of the grid on which patches are found
    rim, near, far = (disc(2 * round(size * scale) + 1) for size in (4, 7, 2 * 12))
    inner = erode(patch.astype(np.uint8), rim) > 0
    ring = sheet & widened(patch, far) & ~widened(patch, near)
    density = np.log10(np.maximum(gauss(linear.mean(axis=2), 1), 1e-4))
    own, beside = (_texture(density, where, 4 * scale) for where in (inner, ring))
    step = -math.log10(max(1 - lost, LEAST_RATIO))
    return own < step / 2 and own**2 - beside**2 < (settings.patch_even * step) ** 2


def _texture(density: Floats, where: Mask, reach: float) -> float:
    """Return the spread of a density about its own mean within ``reach``; 0 if there is no such place."""
    if not where.any():
        return 0.0
    part = where.astype(np.float32)
    mean = gauss(density * part, reach) / np.maximum(gauss(part, reach), 1e-3)
    return spread_of((density - mean)[where].astype(np.float32))
