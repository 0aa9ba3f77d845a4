"""Read a photograph whatever it shows: with the card where one lies in it, else against bare support alone."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import linear_to_lab
from inkhorn.errors import PictureError
from inkhorn.handbook.load import row, value
from inkhorn.imaging.calibrate.chart import Chart, card_values, read_chart
from inkhorn.imaging.calibrate.curve import Curve, quick
from inkhorn.imaging.calibrate.paper import Paper, lab_doubt, measured_paper
from inkhorn.imaging.calibrate.reference import Reference
from inkhorn.imaging.card.calibrated import Calibrated, calibrate
from inkhorn.imaging.card.find import Found, find_card
from inkhorn.imaging.card.layout import card
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.read import UNCALIBRATED, read_first
from inkhorn.imaging.reading import Maps, PhotoReading

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Photo:
    """A photograph that was read.

    Attributes
    ----------
    picture : Picture
        What the reading was taken from: flat and calibrated where a card was found.
    reading : PhotoReading
    draw : callable
        Draws the maps; use ``maps``.
    """

    picture: Picture
    reading: PhotoReading
    draw: Callable[[], Maps]

    @functools.cached_property
    def maps(self) -> Maps:
        """Return the maps at the resolution of ``picture``, drawn when first asked for."""
        return self.draw()


@attrs.frozen(kw_only=True, eq=False)
class Told:
    """What the maker says of the card and the chart in a photograph; all may be left out.

    Attributes
    ----------
    bar : float or None
        Length of the card's bar as measured, mm.
    reference : Reference or None
        Measured colours: of the card's own steps and paper, or of a chart.
    chart_picture : Picture or None
        Where the chart was photographed by itself, with the same camera and light.
    chart_corners : ndarray (4, 2) or None
        Middles of the chart's four corner patches, px; see `inkhorn.imaging.calibrate.chart.read_chart`.
    once : bool
        Bar and card were told once, for every picture that shows the card; this one need not show it.
    """

    bar: float | None = None
    reference: Reference | None = None
    chart_picture: Picture | None = None
    chart_corners: Array | None = None
    once: bool = False


def read_photo(
    source: str | Path | bytes | Picture,
    *,
    mm_per_px: float | None = None,
    told: Told | None = None,
    seed: int = 0,
) -> Photo:
    """Measure the ink of a photograph.

    Parameters
    ----------
    source : path, bytes or Picture
    mm_per_px : float, optional
        Scale of the source picture; not used where a card is found.
    told : Told, optional
    seed : int

    Raises
    ------
    PictureError
        The picture cannot be opened, or shows no sheet or no ink; something was said of a
        card and none is seen; the chart cannot be read.
    """
    photo, camera = _read(source, mm_per_px, told or Told(), seed)
    return attrs.evolve(photo, reading=attrs.evolve(photo.reading, camera=camera))


def _read(
    source: str | Path | bytes | Picture, mm_per_px: float | None, told: Told, seed: int
) -> tuple[Photo, str]:
    """Return what was read and the camera's name; the picture is let go of as soon as it can be."""
    picture = source if isinstance(source, Picture) else load_picture(source)
    camera = picture.camera
    found = find_card(picture)
    if found is None and told.once:
        told = Told()
    values = None if told.reference is None else card_values(told.reference, _names(found))
    if found is None and (told.bar is not None or values):
        raise PictureError(
            "no card was found in the picture, though something was said of it",
            mend="Show the whole card, with at least three of its markers sharp and not burnt out",
        )
    chart = None
    if told.reference is not None and values is None:
        chart = _chart(picture, told, told.reference)
    if found is None:
        if chart is not None:
            picture = _linearised(picture, chart.curve)
        whole, reading, maps = read_first(picture, mm_per_px=mm_per_px, seed=seed)
        if chart is not None:
            bare = reading.support_rgb
            reading = _with_chart(reading, bare, bare * 10**-reading.optical_density, chart, seed)
        return Photo(picture=whole, reading=reading, draw=maps), camera
    measured, lab = values or ({}, None)
    known = calibrate(
        picture,
        found,
        bar=told.bar,
        measured=measured,
        paper=None if lab is None else measured_paper(lab),
        curve=None if chart is None else chart.curve,
    )
    del picture
    flat, reading, maps = read_first(known.picture, mm_per_px=known.mm_per_px, seed=seed)
    reading = attrs.evolve(_with_card(reading, known, seed), flat=flat)
    if chart is not None:
        reading = _with_chart(reading, *_in_camera(reading, known), chart, seed)
    return Photo(picture=flat, reading=reading, draw=maps), camera


def _names(found: Found | None) -> tuple[str, ...]:
    every = (found.card,) if found else (card("a6"), card("a6", black_only=True))
    return tuple(patch.name for kind in every for patch in kind.patches)


def _chart(picture: Picture, told: Told, reference: Reference) -> Chart:
    if told.chart_corners is None:
        raise PictureError(
            "it is not known where the chart lies",
            mend="Give the middles of its four corner patches in px, clockwise from its first patch: "
            '--chart-corners "x,y x,y x,y x,y"',
        )
    shown = told.chart_picture or picture
    one, other = (np.eye(3) if p.matrix is None else p.matrix for p in (shown, picture))
    if not np.array_equal(one, other):
        raise PictureError(
            "the picture of the chart has another colour profile than this one",
            mend="Photograph both with the same camera and save them alike",
        )
    return read_chart(shown, reference, told.chart_corners)


def _linearised(picture: Picture, curve: Curve) -> Picture:
    """Return the picture in the camera's light as the curve has it, white at 1."""
    out = np.empty((*picture.shape, 3), np.uint16)
    light = quick(curve)
    for first in range(0, picture.shape[0], 256):  # strips bound the memory
        part = light(picture.part(slice(first, first + 256), slice(None), own=True))
        out[first : first + 256] = np.rint(np.clip(part, 0, 1) * np.iinfo(np.uint16).max)
    return Picture(
        codes=out,
        valid=picture.valid,
        reduction=picture.reduction,
        grey=picture.grey,
        compressed=picture.compressed,
        notes=picture.notes,
    )


def _in_camera(reading: PhotoReading, known: Calibrated) -> tuple[Array, Array]:
    """Return bare support and ink, (3,) each, in the camera's own light as its curve gives it."""
    back = np.linalg.inv(known.matrix)
    bare = reading.support_rgb
    both = (
        back @ light / (back @ known.paper.linear) * known.light
        for light in (bare, bare * 10**-reading.optical_density)
    )
    first, second = (np.maximum(light, 1e-5) for light in both)
    return first, second


def _with_chart(reading: PhotoReading, support: Array, ink: Array, chart: Chart, seed: int) -> PhotoReading:
    """Turn density and Lab into true colour by the chart; ``support`` and ``ink`` are in the light of its curve."""
    bare, dark = (np.maximum(chart.regression.linear(light), 1e-5) for light in (support, ink))
    density = np.asarray(np.log10(bare / dark), dtype=np.float64)
    covariance = reading.covariance
    if not reading.card:
        recorded = [chart.curve.recorded(np.maximum(light, 1e-5)) for light in (support, ink)]
        covariance = covariance + chart.curve.doubt(recorded[0], recorded[1])
    perfect = Paper(lab=np.array([100.0, 0, 0]), covariance=np.zeros((3, 3)))
    own = lab_doubt(
        support=bare,
        density=density,
        covariance=covariance,
        paper=perfect,
        field=value("card.field_beside"),
        mixing=0,
        rng=np.random.default_rng(seed),
    )
    left = chart.regression.difference
    return attrs.evolve(
        reading,
        optical_density=density,
        covariance=covariance,
        lab=linear_to_lab(dark),
        lab_covariance=own[0] + chart.regression.covariance,
        support_lab=linear_to_lab(bare),
        support_lab_covariance=own[1] + chart.regression.covariance,
        warnings=(
            *(w for w in reading.warnings if w != UNCALIBRATED),
            f"calibrated by the chart: a patch left out of it is met to CIEDE2000 {left:.1f} (middle)",
        ),
    )


def _with_card(reading: PhotoReading, known: Calibrated, seed: int) -> PhotoReading:
    """Add the errors that come of the calibration, and Lab."""
    covariance = reading.covariance + _curve_doubt(reading, known)
    notes = tuple(w for w in reading.warnings if w != UNCALIBRATED)
    reading = attrs.evolve(
        reading,
        card=True,
        covariance=covariance,
        warnings=(*notes, *known.warnings),
        scale_sd=known.scale_sd,
    )
    if not known.whole:
        return attrs.evolve(reading, lab=None, support_lab=None, warnings=(*reading.warnings, UNCALIBRATED))
    ink, support = lab_doubt(
        support=reading.support_rgb,
        density=reading.optical_density,
        covariance=covariance,
        paper=known.paper,
        field=known.doubt,
        mixing=row("camera.mixing").spread,
        rng=np.random.default_rng(seed),
    )
    return attrs.evolve(
        reading,
        lab=linear_to_lab(reading.support_rgb * 10**-reading.optical_density),
        lab_covariance=ink,
        support_lab=linear_to_lab(reading.support_rgb),
        support_lab_covariance=support,
    )


def _curve_doubt(reading: PhotoReading, known: Calibrated) -> Array:
    """Return the covariance that the tone curve gives to the channel densities, (3, 3)."""
    recorded = [known.curve.recorded(light) for light in _in_camera(reading, known)]
    own = np.eye(3) * value("card.channel_sd") ** 2
    return np.asarray(known.curve.doubt(recorded[0], recorded[1]) + own)
