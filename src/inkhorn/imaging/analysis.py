"""The steps of a reading in order, and everything they leave behind for maps and answers."""

from __future__ import annotations

import math

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import PictureError
from inkhorn.imaging.cores import Cores, gather
from inkhorn.imaging.gaps import UNBROKEN, Continuity, envelope
from inkhorn.imaging.ink import candidates, depth_of, lost_light, noise_of
from inkhorn.imaging.other_ink import other_ink
from inkhorn.imaging.patch_ink import is_ink
from inkhorn.imaging.patches import Patches, find_patches
from inkhorn.imaging.picture import Floats, Mask, Picture
from inkhorn.imaging.pixels import (
    area,
    closed,
    coarse_size,
    dilate,
    disc,
    gauss,
    grown,
    inside_by,
    mostly,
    nearest,
    nearest_of,
    opened,
    pieces,
    square,
    stretch,
    widened,
)
from inkhorn.imaging.ruling import Rule, find_rules, rule_mask
from inkhorn.imaging.settings import Settings
from inkhorn.imaging.strokes import Line, lines, over_support, usual_width
from inkhorn.imaging.surface import closed_surface, first_surface, near_surface, over_edges
from inkhorn.imaging.surround import beside_writing, outside_sheet


@attrs.frozen(kw_only=True, eq=False)
class Analysis:
    """Everything found on the way to a reading; arrays and px at working resolution.

    Attributes
    ----------
    work : Picture
        The picture as it was measured, reduced ``by`` a whole number along each side.
    sheet : ndarray of bool (H, W)
    support : ndarray float32 (h, w, 3)
        Bare support in linear light, on a small grid over the picture; ``surface`` has full size.
    lost : ndarray float32 (H, W)
        Share of light lost.
    noise, depth : float
        Spread of the bare support, and usual loss of the ink.
    ink, ghosts, others, ruling, area : ndarrays of bool (H, W)
        Ink left, pale marks that are not ink, writing of another colour, ruled lines, whole stroke area.
    narrow : float
        Width of a stroke, px of the whole picture; infinite for patches.
    patched : bool
        The ink lies in wide patches, not in strokes.
    lines : tuple of Line
        Strokes; px of the whole picture.
    """

    work: Picture
    by: int
    sheet: Mask
    support: Floats
    lost: Floats
    noise: float
    depth: float
    ink: Mask
    ghosts: Mask
    others: Mask
    rules: tuple[Rule, ...]
    ruling: Mask
    area: Mask
    breaks: Continuity
    width: float
    blur: float
    narrow: float
    patched: bool
    lines: tuple[Line, ...]
    cores: Cores

    @property
    def surface(self) -> Floats:
        """Return the bare support at full size, float32 (H, W, 3)."""
        return stretch(self.support, self.lost.shape[::-1])


def analyse(picture: Picture, settings: Settings) -> Analysis:
    """Separate sheet, support, ruling, ink and worn gaps, and gather the cores of the strokes.

    A small picture tells where the support lies and how wide the strokes are;
    ink is then told at the resolution that the strokes need, and only the edges
    of strokes are looked at in the whole picture.
    """
    sketch = _sketch(picture, settings)
    by = _reduction(picture, sketch.width, settings)
    work = sketch.small if by == sketch.by else picture.reduced(by)
    size = work.shape[::-1]
    sheet = nearest(sketch.sheet, size) & work.valid
    lost = lost_light(work, sketch.support)
    noise = noise_of(lost, sheet)
    ruling = rule_mask(sketch.rules, lost, noise, settings, by) & sheet
    page, width = sheet & ~ruling, sketch.width / by
    if sketch.patches is None:
        depth = depth_of(lost, page, noise, settings) or sketch.depth
        ink, ghosts = candidates(lost, page, noise, depth, settings, width=width)
    else:
        depth = sketch.depth
        ink = _filled(lost, page, nearest(sketch.patches.mask, size), width, depth)
        ghosts = np.zeros_like(ink)
    deep = inside_by(ink)
    width = usual_width(ink, deep)
    if not width:
        raise _nothing()
    soiled = _soiled(ink, deep, lost, width, depth, settings)
    del deep  # large
    ink, ghosts = ink & ~soiled, ghosts | soiled
    support = sketch.support
    if np.count_nonzero(ghosts) > settings.ghost_matters * np.count_nonzero(ink):
        # ink lies on show-through and soil as often as the support beside it shows them: they belong to its support
        clear = ghosts & ~widened(ink, square(5))
        support = _with_ghosts(sketch, clear)
        lost = lost_light(work, support)
    ink = _trimmed(_healed(ink, ruling), lost)
    others = np.zeros_like(ink)
    if sketch.patches is None:
        others = other_ink(ink, work, support, width, settings)
        ink &= ~others
    if sketch.patches is None:
        strokes, breaks = envelope(ink, width, settings, lost=lost)
    else:
        strokes, breaks = ink, UNBROKEN
    look = over_support(picture, support)
    found = lines(strokes, ink, lost, width, settings, look=look, by=by)
    blur = blur_of(found, by)
    narrow = narrow_of(found, width * by, settings) if sketch.patches is None else math.inf
    if narrow < max(settings.stroke_least, settings.stroke_sharp * blur * by):
        raise too_small(narrow, settings)
    sure = ink & ~nearest(sketch.steep, size)
    if 2 * np.count_nonzero(sure) < np.count_nonzero(ink):
        sure = ink
    cores = gather(sure, work, support, width=width, blur=blur, noise=noise, settings=settings)
    if cores.density.size < settings.core_few / 10:
        raise too_small(min(narrow, width * by), settings)
    return Analysis(
        work=work,
        by=by,
        sheet=sheet,
        support=support,
        lost=lost,
        noise=noise,
        depth=depth,
        ink=ink,
        ghosts=ghosts & ~strokes,
        others=others,
        rules=sketch.rules,
        ruling=ruling,
        area=strokes,
        breaks=breaks,
        width=width,
        blur=blur,
        narrow=narrow,
        patched=sketch.patches is not None,
        lines=found,
        cores=cores,
    )


def _reduction(picture: Picture, width: float, settings: Settings) -> int:
    """Return the whole number by which the picture can be reduced and still show its strokes well."""
    height, across = picture.shape
    most = int((height * across / (settings.work_least * 10**6)) ** 0.5)
    return max(1, min(most, int(width / settings.work_width)))


def _filled(lost: Floats, page: Mask, patches: Mask, width: float, depth: float) -> Mask:
    """Return the ink of wide patches: where at least half of their light loss is reached in the mean near by."""
    near = page & grown(patches, max(2, round(width / 4)))
    soft = gauss(lost, max(1.0, width / 20))  # numbers-in-code: a mean over much less than a patch
    count, labels = pieces(near & (soft > depth / 2))
    touched = np.zeros(count, bool)
    touched[labels[patches]] = True
    touched[0] = False
    return np.asarray(touched[labels])


@attrs.frozen(kw_only=True, eq=False)
class Sketch:
    """First findings on a picture reduced ``by``; ``width`` and the rules in px of the whole one.

    ``steep`` is where the support changes too sharply to be known: edges of shadows and folds;
    ``surface`` its first, close view.
    """

    small: Picture
    by: int
    sheet: Mask
    bare: Mask
    steep: Mask
    support: Floats
    surface: Floats
    reach: float
    depth: float
    width: float
    rules: tuple[Rule, ...]
    patches: Patches | None


def _sketch(picture: Picture, settings: Settings) -> Sketch:
    """Find sheet, support, stroke width and ruling on a picture small enough to do it several times."""
    height, across = picture.shape
    by = max(1, math.ceil((height * across / (settings.sketch_megapixels * 10**6)) ** 0.5 - 0.5 / 2))
    small = picture.reduced(by)
    linear = small.linear
    coarse = area(linear, coarse_size(small.shape, settings.coarse_side))
    sheet = ~outside_sheet(coarse, small.valid, settings)
    _check(small, sheet, settings)
    surface = first_surface(coarse, ~sheet, settings)
    lost = lost_light(linear, surface)
    noise = noise_of(lost, sheet)
    patches = find_patches(coarse, mostly(sheet, coarse.shape[1::-1]), settings)
    if patches is not None and is_ink(patches, linear, lost, sheet, noise, settings):
        surface = first_surface(coarse, ~sheet | _of(patches, sheet), settings)
        lost = lost_light(linear, surface)
        noise = noise_of(lost, sheet)
        depth, wide = patches.lost, usual_width(patches.mask) * sheet.shape[1] / patches.mask.shape[1]
        steep = np.zeros_like(sheet)
    else:
        patches = None
        beside, steep = beside_writing(coarse, sheet, settings)
        if beside.any():
            sheet &= ~beside
            surface = first_surface(coarse, ~sheet, settings)
            lost = lost_light(linear, surface)
            noise = noise_of(lost, sheet)
        # where light is very uneven, as through a barred window, only a close view of the support is of use
        near = lost_light(
            linear, closed_surface(linear, sheet, settings.sheet_fill * max(sheet.shape), settings)
        )
        own = noise_of(near, sheet)
        stands_out = depth_of(near, sheet, own, settings) > settings.uneven_clear * own
        if noise > settings.uneven_noise * own and stands_out:
            lost, noise = near, own
        depth, wide = _first_ink(lost, sheet, noise, settings)
        for _ in range(2):
            before = wide
            surface = closed_surface(linear, sheet, wide, settings)
            lost = lost_light(linear, surface)
            noise = noise_of(lost, sheet)
            depth, wide = _first_ink(lost, sheet, noise, settings, wide)
            if abs(wide - before) <= before / 4:
                break
    rules = _rules(lost, sheet, noise, depth, wide, by, settings) if patches is None else ()
    ruling = rule_mask(rules, lost, noise, settings, by) & sheet
    bare = _bare(lost, sheet, ruling, noise=noise, depth=depth, width=wide, settings=settings)
    reach = max(settings.support_least / by, settings.support_reach * wide)
    if patches is not None:
        reach = min(reach, max(sheet.shape) / 12)
    return Sketch(
        small=small,
        by=by,
        sheet=sheet,
        bare=bare,
        steep=steep,
        support=_support(linear, bare, steep, reach, surface),
        surface=surface,
        reach=reach,
        depth=depth,
        width=wide * by,
        rules=rules,
        patches=patches,
    )


def _check(small: Picture, sheet: Mask, settings: Settings) -> None:
    if sheet.mean() < settings.surround_share:
        raise PictureError(
            "no sheet was found in the picture", mend="Photograph the page so that it fills the picture"
        )
    if float(np.median(small.linear[::4, ::4][sheet[::4, ::4]])) < settings.least_light:
        raise PictureError("the sheet is nearly black in the picture", mend="Photograph it in more light")


def _of(patches: Patches | None, sheet: Mask) -> Mask:
    if patches is None:
        return np.zeros_like(sheet)
    return widened(nearest(patches.mask, sheet.shape[::-1]), disc(5))


def _first_ink(
    lost: Floats, sheet: Mask, noise: float, settings: Settings, before: float = 0.0
) -> tuple[float, float]:
    """Return usual light loss and width of what may be ink, px."""
    depth = depth_of(lost, sheet, noise, settings)
    if not depth:
        raise _nothing()
    wide = usual_width(candidates(lost, sheet, noise, depth, settings)[0]) or before
    if not wide:
        raise _nothing()
    return depth, wide


def _rules(
    lost: Floats, sheet: Mask, noise: float, depth: float, wide: float, by: int, settings: Settings
) -> tuple[Rule, ...]:
    scale = np.array([float(by), float(by)])
    return find_rules(lost, sheet, noise=noise, depth=depth, width=wide * by, scale=scale, settings=settings)


def _with_ghosts(sketch: Sketch, clear: Mask) -> Floats:
    """Return the support with pale blurred marks counted as part of it."""
    size = sketch.sheet.shape[::-1]
    bare = sketch.bare | (mostly(clear, size) if clear.shape != sketch.sheet.shape else clear)
    return _support(sketch.small.linear, bare, sketch.steep, sketch.reach, sketch.surface)


def _support(linear: Floats, bare: Mask, steep: Mask, reach: float, surface: Floats) -> Floats:
    """Return the bare support from the pixels near by; where shadows end sharply it follows their edges."""
    plain = near_surface(linear, bare, reach, surface)
    return over_edges(linear, bare, steep, surface, reach, plain) if steep.any() else plain


def too_small(narrow: float, settings: Settings) -> PictureError:
    """Return the refusal of strokes too narrow, or where they are wide enough too blurred, to be read."""
    enough = settings.stroke_enough
    if narrow >= enough:
        return PictureError(
            f"the picture is too blurred for its strokes (about {narrow:.0f} px wide): neither their density nor their "
            "wear can be told",
            mend="Photograph them again, sharp: held still, in focus, and nearer",
        )
    return PictureError(
        f"the strokes are too narrow in pixels (about {narrow:.1f} px): neither their density nor their wear can be told",
        mend=f"Photograph {max(2, math.ceil(enough / max(narrow, 0.5)))} times nearer, or scan that much finer: "
        f"a stroke must be at least {enough:g} px wide",
    )


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
    near = grown(dark | ruling, max(2, round(width / 3)))
    bright = lost < -settings.bare_band * noise
    return sheet & ~near & ~bright


def _soiled(ink: Mask, deep: Floats, lost: Floats, width: float, depth: float, settings: Settings) -> Mask:
    """Return what is much wider than a stroke and yet pale: soiled patches, not ink; ``deep`` is `inside_by`."""
    side = 2 * round(settings.soil_width * width / 2) + 1
    if float(deep.max()) <= side / 2:
        return np.zeros_like(ink)
    count, labels = pieces(opened(ink.astype(np.uint8), disc(side)) > 0)
    if count == 1:
        return np.zeros_like(ink)
    at = np.flatnonzero(labels)
    flat = labels.ravel()[at]
    mean = np.bincount(flat, weights=lost.ravel()[at], minlength=count) / np.maximum(
        np.bincount(flat, minlength=count), 1
    )
    pale = (mean < settings.soil_depth * depth).astype(np.uint8)
    pale[0] = 0
    if not pale.any():
        return np.zeros_like(ink)
    near = dilate(pale[labels], disc(side)) > 0
    return ink & near & (lost < settings.soil_depth * depth)


def _healed(ink: Mask, ruling: Mask) -> Mask:
    """Give back the ink that a removed rule cut through: short gaps across the rule only."""
    if not ruling.any():
        return ink
    return ink | ((closed(ink.astype(np.uint8), square(5)) > 0) & ruling)


def _trimmed(ink: Mask, lost: Floats) -> Mask:
    """Draw the outline of strokes at half of the light lost on their ridge, instead of at the low threshold."""
    deep = inside_by(ink)
    ridge = (deep >= dilate(deep, square(3))) & (deep > 1)
    if not ridge.any():
        return ink
    marks, outline = np.flatnonzero(ridge), np.flatnonzero(ink & (deep <= 2))
    del deep, ridge  # large, like what follows
    peak = dilate(lost, square(3)).ravel()[marks]  # a ridge so deep has ink all round it
    beside = nearest_of(ink.shape, marks, outline)
    pale = lost.ravel()[outline] < peak[beside] / 2
    out = ink.copy()
    out.ravel()[outline[pale]] = False
    return out


def blur_of(found: tuple[Line, ...], by: int = 1) -> float:
    """Return the standard deviation of the picture's blur, px of the working picture.

    Averaging n pixels adds (n^2 - 1)/12 to the variance, the difference of two boxes' variances.
    """
    spreads = np.array([line.spread for line in found if np.isfinite(line.spread)])
    # half a px is the pixel's own blur
    own = max(0.5, float(np.median(spreads)) if spreads.size else 0.0)
    return float(np.sqrt(own**2 + (by**2 - 1) / 12)) / by


def narrow_of(found: tuple[Line, ...], usual: float, settings: Settings) -> float:
    """Return how wide a stroke is, px of the whole picture: what edges tell, or the mask's ``usual`` width without any.

    Where letters are so small that the light between their strokes is gone, one edge is of one stroke and the other of
    the next as often as not: such widths scatter as those of no pen do. The strokes are then narrower than half of the mask.
    """
    widths = [line.width for line in found if np.isfinite(line.width)]
    if len(widths) < 4:
        return usual
    low, middle, high = np.quantile(widths, [1 / 4, 1 / 2, 3 / 4])
    merged = usual < settings.stroke_enough and high - low > settings.stroke_scatter * usual
    return float(usual / 2 if merged and middle > settings.stroke_least else middle)


def ratio_to(linear: Floats, surface: Floats) -> NDArray[np.float32]:
    """Return light against the support, per channel."""
    return np.asarray(linear / np.maximum(surface, 1e-6), dtype=np.float32)
