"""Read a photograph: the faces of this floor."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import linear_to_lab
from inkhorn.errors import PictureError
from inkhorn.imaging.analysis import Analysis, analyse, ratio_to, too_small
from inkhorn.imaging.density import InkReading, measure
from inkhorn.imaging.edges import LEAST_RATIO
from inkhorn.imaging.gaps import lost_odds
from inkhorn.imaging.load import PALETTE, load_picture
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.pixels import nearest
from inkhorn.imaging.reading import (
    BARE,
    EDGE,
    GAP,
    GHOST,
    INTACT,
    OUTSIDE,
    RULING,
    THINNED,
    Maps,
    PhotoReading,
    Stroke,
    Wear,
)
from inkhorn.imaging.settings import Settings, from_handbook

#: Raised whenever the same picture gives other numbers, so that kept ones are read anew.
VERSION = 11

UNCALIBRATED = "not calibrated by a card: densities cancel the light, but Lab of the ink is withheld"


def read_picture(
    source: str | Path | bytes | Picture, *, mm_per_px: float | None = None, seed: int = 0
) -> PhotoReading:
    """Measure the ink of one photograph or scan that carries no card.

    Parameters
    ----------
    source : path, bytes or Picture
    mm_per_px : float, optional
        Scale of the source picture. Without it all lengths stay in px: the
        file's own dpi tag is not trusted.
    seed : int
        For the resampling behind the errors.

    Returns
    -------
    PhotoReading

    Raises
    ------
    PictureError
        The picture cannot be opened, or shows no sheet or no ink.
    """
    picture, found, ink = _read(source, seed)
    return _answer(picture, found, ink, mm_per_px, from_handbook())


def read_maps(source: str | Path | bytes | Picture, *, seed: int = 0) -> Maps:
    """Return per-pixel density, ink, state and support at working resolution."""
    _, found, ink = _read(source, seed)
    return _maps(found, ink, from_handbook())


def _maps(found: Analysis, ink: InkReading, settings: Settings) -> Maps:
    surface = found.surface
    density = -np.log10(np.maximum(ratio_to(found.work.linear, surface), LEAST_RATIO))
    return Maps(
        density=density.astype(np.float32),
        ink=found.ink,
        state=state_map(found, ink, settings),
        support=surface,
        strokes=found.area,
    )


def read_all(
    source: str | Path | bytes | Picture, *, mm_per_px: float | None = None, seed: int = 0
) -> tuple[Picture, PhotoReading, Maps]:
    """Return picture, reading and maps from one pass; the picture at the maps' resolution."""
    work, reading, maps = read_first(source, mm_per_px=mm_per_px, seed=seed)
    return work, reading, maps()


def read_first(
    source: str | Path | bytes | Picture, *, mm_per_px: float | None = None, seed: int = 0
) -> tuple[Picture, PhotoReading, Callable[[], Maps]]:
    """Return picture and reading, and what draws the maps of the same pass when they are asked for."""
    picture, found, ink = _read(source, seed)
    settings = from_handbook()
    reading = _answer(picture, found, ink, mm_per_px, settings)
    return found.work, reading, lambda: _maps(found, ink, settings)


def _read(source: str | Path | bytes | Picture, seed: int) -> tuple[Picture, Analysis, InkReading]:
    settings = from_handbook()
    picture = source if isinstance(source, Picture) else load_picture(source)
    found = _analysed(picture, settings)
    # numbers-in-code: 1/ln 10, from a small share of light to density
    noise = found.noise / np.log(10)
    ink = measure(found.cores, noise, found.width, np.random.default_rng(seed), settings)
    doubt = np.sqrt(np.diag(ink.covariance + _systematic(found, ink, settings)))
    if found.cores.faith < settings.core_faith and 2 * doubt.mean() > ink.density.mean():
        # two errors reach down to no ink at all: what is left of such strokes says nothing
        raise too_small(max(found.narrow, settings.stroke_enough), settings)
    return picture, found, ink


def _analysed(picture: Picture, settings: Settings) -> Analysis:
    try:
        return analyse(picture, settings)
    except PictureError as error:
        if PALETTE in picture.notes:
            raise PictureError(
                f"{error.what}; the picture has a palette of few colours, in which pale ink and support look alike",
                mend="Save it in full colour (PNG, TIFF or JPEG) and try again",
            ) from error
        raise


def state_map(found: Analysis, ink: InkReading, settings: Settings) -> NDArray[np.uint8]:
    """Return what each pixel is (`Maps.state`)."""
    state = np.full(found.sheet.shape, BARE, np.uint8)
    state[found.ghosts | found.others] = GHOST
    state[~found.sheet] = OUTSIDE
    state[found.area] = EDGE
    rows, columns = np.nonzero(found.area)
    depth = cv2.distanceTransform(found.area.astype(np.uint8), cv2.DIST_L2, 3)[rows, columns]
    density = -np.log10(np.maximum(1 - found.lost[rows, columns].astype(np.float64), LEAST_RATIO))
    part = ink.mixture.shares(np.minimum(density, settings.surface_floor)).argmax(axis=1)
    names = np.array([GAP, THINNED, INTACT], np.uint8)[part]
    # in the blurred rim a pale pixel may be a whole one half covered: only cores and gaps are told apart
    rim = (depth < 1 + found.blur) & (names == THINNED)
    state[rows, columns] = np.where(rim, EDGE, names)
    state[found.area & ~found.ink] = GAP
    state[found.ink & (state == GAP)] = EDGE
    state[found.ruling & ~(found.area & (state == INTACT))] = RULING
    return state


def _answer(
    picture: Picture, found: Analysis, ink: InkReading, mm_per_px: float | None, settings: Settings
) -> PhotoReading:
    # numbers-in-code: a median of so smooth a surface needs no more than some ten thousand places
    few = max(1, int((found.support.shape[0] * found.support.shape[1] / 4e4) ** 0.5))
    grid = found.support[::few, ::few]
    whole = nearest(found.sheet, grid.shape[1::-1])
    support = np.median(grid[whole if whole.any() else ~whole], axis=0).astype(np.float64)
    scale = None if mm_per_px is None else mm_per_px * picture.reduction
    wear, doubt = _wear(found, ink, settings)
    return PhotoReading(
        optical_density=ink.density,
        covariance=ink.covariance + _systematic(found, ink, settings),
        spread=ink.spread,
        support_rgb=support,
        lab=None,
        support_lab=linear_to_lab(support),
        coverage=_coverage(found, wear),
        wear=wear,
        wear_sd=doubt,
        blur_px=found.blur,
        stroke_px=found.width,
        strokes=_strokes(found, scale),
        rules=len(found.rules),
        warnings=picture.notes + _warnings(picture, found, ink, wear, mm_per_px=mm_per_px, settings=settings),
        scale_mm_per_px=mm_per_px,
        draw=lambda: state_map(found, ink, settings),
    )


def _coverage(found: Analysis, wear: Wear) -> float:
    ink, sheet = int(np.count_nonzero(found.ink)), int(np.count_nonzero(found.sheet))
    return ink / max(1, sheet) / max(0.1, 1 - wear.bare)


def _wear(found: Analysis, ink: InkReading, settings: Settings) -> tuple[Wear, Wear]:
    """Return the shares of the stroke area and their standard deviations.

    The cores tell intact from thinned where ink is left; the breaks of the
    strokes tell how much is gone, spots within strokes included.
    """
    odds, odds_sd = lost_odds(found.breaks, settings)
    cut = odds / (1 + odds)
    bare = 1 - (1 - cut) * (1 - found.breaks.spots)
    left = max(1e-6, ink.wear[1] + ink.wear[2])
    intact, thinned = (1 - bare) * ink.wear[2] / left, (1 - bare) * ink.wear[1] / left
    bare_sd = float(np.hypot(odds_sd / (1 + odds) ** 2, found.breaks.spots / 2))
    # a loss of light wrong by a share moves that much of the way from intact ink to what is called thinned
    hidden = sway(found, settings) / (1 - settings.thin_share)
    split = min(0.5, float(np.hypot(np.hypot(ink.wear_sd[2], settings.wear_doubt), hidden)))
    return (
        Wear(intact=float(intact), thinned=float(thinned), bare=float(bare)),
        Wear(
            intact=float(np.hypot(split * (1 - bare), intact * bare_sd / (1 - bare))),
            thinned=float(np.hypot(split * (1 - bare), thinned * bare_sd / (1 - bare))),
            bare=bare_sd,
        ),
    )


def _systematic(found: Analysis, ink: InkReading, settings: Settings) -> NDArray[np.float64]:
    """Return the covariance of what resampling cannot see: support, blur, and the split itself."""
    ones = np.ones((3, 3))
    support = settings.support_doubt**2 * (np.eye(3) + ones) / 2
    # what blur takes within the faith asked for is not given back: anything from nothing to that, evenly
    taken, allowed = 1 - found.cores.faith, 1 - settings.core_faith
    unreturned = min(taken, allowed) / np.sqrt(3)
    lost = float(np.hypot(np.hypot(settings.blur_doubt * taken, unreturned), sway(found, settings)))
    # a light loss u wrong by du moves the density by du / ((1 - u) ln 10)
    ratio = 10**-ink.density
    slope = (1 - ratio) / np.maximum(ratio, LEAST_RATIO) / np.log(10)
    return np.asarray(support + lost**2 * np.outer(slope, slope))


def sway(found: Analysis, settings: Settings) -> float:
    """Return how uncertain blur leaves the loss of light in the middle of a stroke, as a share of it.

    A stroke of width w blurred by s keeps 2 Phi(w / 2s) - 1 in its middle; with s it changes by
    (w / s^2) phi(w / 2s), next to nothing from some five spreads of blur on.
    """
    if found.patched:
        return 0.0
    wide, blur = found.narrow / found.by, found.blur
    # numbers-in-code: the normal density, 1 / sqrt(2 pi)
    normal = np.exp(-((wide / blur) ** 2) / 8) / np.sqrt(2 * np.pi)
    off = np.hypot(settings.blur_sway / found.by, settings.blur_share * blur)
    return float(off * wide / blur**2 * normal)


def _strokes(found: Analysis, scale: float | None) -> tuple[Stroke, ...]:
    return tuple(
        Stroke(
            width_px=line.width,
            raggedness_px=line.raggedness,
            blur_px=line.blur,
            channel_density=line.density,
            skips=line.skips,
            darkness=line.darkness,
            contrast=line.contrast,
            fill=line.fill,
            pooling=line.pooling,
            feathering_px=line.feathering,
            mm_per_px=scale,
        )
        for line in found.lines
        if np.isfinite(line.width)
    )


def _burnt(picture: Picture, found: Analysis) -> float:
    """Return the share of bare support that the camera recorded as full white in a channel."""
    # numbers-in-code: a share needs no more than some ten thousand pixels
    skip = max(1, int((found.sheet.size / 4e4) ** 0.5))
    rows, columns = np.nonzero((found.sheet & ~found.area)[::skip, ::skip])
    if not rows.size:
        return 0.0
    light = picture.at(rows * skip * found.by, columns * skip * found.by, own=True)
    return float((light.max(axis=1) >= 1 - 1e-6).mean())


def _warnings(
    picture: Picture,
    found: Analysis,
    ink: InkReading,
    wear: Wear,
    *,
    mm_per_px: float | None,
    settings: Settings,
) -> tuple[str, ...]:
    out = []
    if found.patched:
        out.append(
            "the ink lies in wide patches, as of a dipped strip or a drop: there is no stroke whose gaps could be told"
        )
    if ink.density.max() > settings.surface_floor:
        out.append(
            f"a density above {settings.surface_floor:g} says little about strength: the surface itself mirrors about "
            "4 % of the light; a thinned trial tells more"
        )
    if not found.patched and found.blur * found.by > settings.blur_said:
        out.append(
            f"no edge is sharper than some {2 * found.blur * found.by:.0f} px, out of focus or shaken: strokes may have run "
            "together, and density and wear are unreliable; photograph it again, sharp"
        )
    if found.narrow < settings.stroke_enough:
        nearer = np.ceil(settings.stroke_enough / found.narrow * 10) / 10
        out.append(
            f"a stroke is only about {found.narrow:.1f} px wide: density and wear are unreliable; photograph {nearer:.1f} "
            f"times nearer, or scan that much finer, so that a stroke has at least {settings.stroke_enough:g} px"
        )
    if found.cores.faith < settings.core_faith:
        out.append(
            "the strokes are narrow for this picture's blur: their density was corrected for it and is less sure"
        )
    if picture.compressed and not picture.grey and found.width < settings.narrow_stroke:
        out.append(
            "narrow strokes in a compressed picture: the colour of the ink is smeared with the support's"
        )
    if mm_per_px is None:
        out.append("no scale is known: lengths are in pixels only")
    if _burnt(picture, found) > settings.burnt_share:
        out.append(
            "the support is burnt out to white in places: densities are read too low there; expose for the page"
        )
    if ink.pooled > settings.pool_least:
        out.append(
            f"{ink.pooled:.0%} of the ink stands in dark pools; the density is that of the ordinary strokes between them"
        )
    if found.rules:
        out.append(f"{len(found.rules)} ruled line(s) were found and left out")
    if found.ghosts.sum() > found.area.sum() / 4:
        out.append(
            "pale blurred marks (show-through or soiling) were left out; if they are ink, it is read as missing"
        )
    other = np.count_nonzero(found.others)
    if other > settings.other_said * (other + np.count_nonzero(found.ink)):
        out.append(
            f"{other / (other + np.count_nonzero(found.ink)):.0%} of the writing is of another colour (red initials, a "
            "stamp) and was left out; crop the picture to it to measure that"
        )
    if wear.bare > settings.bare_said:
        out.append(
            "what is gone is told from the broken ends of strokes: words that are wholly gone are not counted"
        )
    if wear.intact < settings.high_share:
        out.append("less than half of the stroke area holds intact ink: its density rests on few places")
    out.append(UNCALIBRATED)
    return tuple(out)
