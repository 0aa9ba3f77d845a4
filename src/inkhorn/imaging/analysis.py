"""The steps of a reading in order, and everything they leave behind for maps and answers."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import PictureError
from inkhorn.imaging.cores import Cores, gather
from inkhorn.imaging.gaps import Continuity, envelope
from inkhorn.imaging.ink import candidates, depth_of, lost_light, noise_of
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import (
    area,
    closed,
    dilate,
    disc,
    erode,
    nearest,
    opened,
    pieces,
    square,
    stretch,
    widened,
)
from inkhorn.imaging.ruling import Rule, find_rules, rule_mask
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.strokes import Line, lines, usual_width
from inkhorn.imaging.surface import closed_surface, first_surface, near_surface
from inkhorn.imaging.surround import outside_sheet


@attrs.frozen(kw_only=True, eq=False)
class Analysis:
    """Everything found on the way to a reading; arrays at working resolution."""

    sheet: Mask
    surface: Floats
    lost: Floats
    noise: float
    depth: float
    ink: Mask
    ghosts: Mask
    rules: tuple[Rule, ...]
    ruling: Mask
    area: Mask
    breaks: Continuity
    width: float
    blur: float
    lines: tuple[Line, ...]
    cores: Cores


def analyse(picture: Picture, settings: Settings) -> Analysis:
    """Separate sheet, support, ruling, ink and worn gaps, and gather the cores of the strokes."""
    outside = outside_sheet(picture, settings)
    sheet = ~outside
    if sheet.mean() < settings.surround_share:
        raise PictureError(
            "no sheet was found in the picture", mend="Photograph the page so that it fills the picture"
        )
    if float(np.median(picture.linear[::4, ::4][sheet[::4, ::4]])) < settings.least_light:
        raise PictureError("the sheet is nearly black in the picture", mend="Photograph it in more light")
    sketch = _sketch(picture.linear, sheet, settings)
    size = picture.shape[::-1]
    surface = stretch(sketch.surface, size)
    lost = lost_light(picture.linear, surface)
    noise = noise_of(lost, sheet)
    depth = depth_of(lost, sheet, noise, settings) or sketch.depth
    width = sketch.width
    ruling = rule_mask(sketch.rules, lost, noise, settings) & sheet
    bare = _bare(lost, sheet, ruling, noise=noise, depth=depth, width=width, settings=settings)
    reach = max(settings.support_least, settings.support_reach * width)
    surface = near_surface(picture.linear, bare, reach, surface)
    lost = lost_light(picture.linear, surface)
    noise = noise_of(lost, sheet & ~ruling)
    depth = depth_of(lost, sheet & ~ruling, noise, settings) or depth
    ink, ghosts = candidates(lost, sheet & ~ruling, noise, depth, settings, width=width)
    width = usual_width(ink)
    if not width:
        raise _nothing()
    soiled = _soiled(ink, lost, width, depth, settings)
    ink, ghosts = ink & ~soiled, ghosts | soiled
    if ghosts.sum() > settings.ghost_matters * ink.sum():
        # ink lies on show-through and soil as often as the support beside it shows them: they belong to its support
        clear = ~widened(ink, square(5))
        surface = near_surface(picture.linear, bare | (ghosts & clear), reach, surface)
        lost = lost_light(picture.linear, surface)
    ink = _trimmed(_healed(ink, ruling), lost)
    strokes, breaks = envelope(ink, width, settings)
    found = lines(strokes, ink, lost, width, settings)
    blur = blur_of(found)
    cores = gather(ink, picture.linear, surface, width=width, blur=blur, noise=noise, settings=settings)
    if cores.density.size < settings.core_few / 10:
        raise PictureError(
            "hardly any ink lies well inside a stroke: the strokes are too narrow in pixels",
            mend="Photograph closer, or scan at a higher resolution",
        )
    return Analysis(
        sheet=sheet,
        surface=surface,
        lost=lost,
        noise=noise,
        depth=depth,
        ink=ink,
        ghosts=ghosts & ~strokes,
        rules=sketch.rules,
        ruling=ruling,
        area=strokes,
        breaks=breaks,
        width=width,
        blur=blur,
        lines=found,
        cores=cores,
    )


@attrs.frozen(kw_only=True, eq=False)
class Sketch:
    """First findings on a reduced picture; lengths in px of the whole one."""

    surface: Floats
    depth: float
    width: float
    rules: tuple[Rule, ...]


def _sketch(linear: Floats, sheet: Mask, settings: Settings) -> Sketch:
    """Find support, stroke width and ruling roughly, on a picture small enough to do it several times."""
    height, width = sheet.shape
    shrink = max(1.0, (height * width / (settings.sketch_megapixels * 10**6)) ** 0.5)
    size = (round(width / shrink), round(height / shrink))
    if shrink > 1:
        linear, sheet = area(linear, size), nearest(sheet, size)
    surface = first_surface(linear, ~sheet, settings)
    wide = 0.0
    for step in range(3):
        if step:
            surface = closed_surface(linear, sheet, wide, settings)
        lost = lost_light(linear, surface)
        noise = noise_of(lost, sheet)
        depth = depth_of(lost, sheet, noise, settings)
        if not depth:
            raise _nothing()
        wide = usual_width(candidates(lost, sheet, noise, depth, settings)[0]) or wide
        if not wide:
            raise _nothing()
    scale = np.array([width / size[0], height / size[1]])
    rules = find_rules(
        lost, sheet, noise=noise, depth=depth, width=wide * shrink, scale=scale, settings=settings
    )
    return Sketch(surface=surface, depth=depth, width=wide * shrink, rules=rules)


def _nothing() -> PictureError:
    return PictureError(
        "no ink was found on the sheet",
        mend="Photograph a part with writing, in even light, without a filter",
    )


def _bare(
    lost: Floats, sheet: Mask, ruling: Mask, *, noise: float, depth: float, width: float, settings: Settings
) -> Mask:
    """Return pixels that are surely bare support: away from strokes, their halo, and ruling."""
    dark = lost > max(settings.low_share * depth / 2, settings.noise_steps * noise)
    halo = 2 * max(2, round(width / 3)) + 1
    near = widened(dark | ruling, disc(halo))
    bright = lost < -settings.bare_band * noise
    return sheet & ~near & ~bright


def _soiled(ink: Mask, lost: Floats, width: float, depth: float, settings: Settings) -> Mask:
    """Return what is much wider than a stroke and yet pale: soiled patches, not ink."""
    side = 2 * round(settings.soil_width * width / 2) + 1
    count, labels = pieces(opened(ink.astype(np.uint8), disc(side)) > 0)
    if count == 1:
        return np.zeros_like(ink)
    at = np.nonzero(labels)
    flat = labels[at]
    mean = np.bincount(flat, weights=lost[at], minlength=count) / np.maximum(
        np.bincount(flat, minlength=count), 1
    )
    pale = (mean < settings.soil_depth * depth).astype(np.uint8)
    pale[0] = 0
    near = dilate(pale[labels], disc(side)) > 0
    return ink & near & (lost < settings.soil_depth * depth)


def _healed(ink: Mask, ruling: Mask) -> Mask:
    """Give back the ink that a removed rule cut through: short gaps across the rule only."""
    if not ruling.any():
        return ink
    return ink | ((closed(ink.astype(np.uint8), square(5)) > 0) & ruling)


def _trimmed(ink: Mask, lost: Floats) -> Mask:
    """Draw the outline of strokes at half of the light lost just inside, instead of at the low threshold."""
    grid = ink.astype(np.uint8)
    inside = np.where(ink, lost, 0).astype(np.float32)
    local = dilate(inside, disc(7))
    rim = ink & (erode(grid, square(5)) == 0)
    return np.asarray(ink & ~(rim & (lost < local / 2)))


def blur_of(found: tuple[Line, ...]) -> float:
    """Return the picture's blur as the standard deviation of a normal edge, px.

    An edge blurred with standard deviation s takes 2 Phi^-1(0.9) s from 10 to 90 %.
    """
    blurs = np.array([line.blur for line in found if np.isfinite(line.blur)])
    middle = float(np.median(blurs)) if blurs.size else 0.0
    return max(0.5, middle / 2.5631)  # numbers-in-code: 2 Phi^-1(0.9); half a px is the pixel's own blur


def ratio_to(linear: Floats, surface: Floats) -> NDArray[np.float32]:
    """Return light against the support, per channel."""
    return np.asarray(linear / np.maximum(surface, 1e-6), dtype=np.float32)
