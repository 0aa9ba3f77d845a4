"""Photographs of the card by a rendered camera: it is found, its plane and its light are told, or it is said that not.

The camera (``support/camera.py``) shares no code with the reader. A longer table is printed by
``benchmarks/imaging_card.py``.
"""

from __future__ import annotations

import functools
import io

import numpy as np
import pytest
from PIL import Image

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_xyz
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import Reference
from inkhorn.imaging.card.find import find_card
from inkhorn.imaging.card.layout import BAR, card
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.overlay import overlay
from inkhorn.imaging.photo import Told, read_photo
from inkhorn.report.card import pdf
from support.camera import Photograph, Shot, any_shot, photograph, printed_density

#: Tilt, way of the tilt, turn, shadow, tone curve, Display P3, black only: a spread of cameras and tables.
VIEWS = (
    {"tilt": 39.0, "tilt_way": 60.0, "turn": 12.0, "tone": "strong", "p3": True},
    {"tilt": 8.0, "turn": 200.0, "shadow": 0.4, "tone": "gamma"},
    {"tilt": 25.0, "tilt_way": 300.0, "turn": 95.0, "tone": "shoulder", "sharpen": 0.6},
    {"tilt": 15.0, "turn": -80.0, "tone": "clipped", "jpeg": 80},
    {"tilt": 20.0, "tilt_way": 170.0, "tone": "filmic", "exposure": 0.6},
)


@functools.cache
def _view(number: int) -> tuple[Shot, Photograph]:
    kind = _card(number)
    more = {"pixels": (1900, 1425), "fill": 0.9, "density": 0.6, "stroke": 1.0, **VIEWS[number]}
    shot = any_shot(500 + number, pdf(kind), (kind.width, kind.height), kind.window, **more)
    return shot, photograph(shot)


def _card(number: int):
    return card("a6", black_only=bool(number % 2))


def _measured(number: int) -> Reference:
    """Return what an instrument would find on the card: its steps and its paper."""
    shot, photo = _view(number)
    patches = _card(number).patches
    paper = lab_to_xyz(photo.paper_lab)
    light = [10 ** -printed_density(shot, patch.sample(0.5)) for patch in patches]
    xyz = np.array([paper, *(share * paper for share in light)])
    return Reference(names=("paper", *(p.name for p in patches)), xyz=xyz, grid=None)


@functools.cache
def _read(number: int, *, measured: bool):
    shot, photo = _view(number)
    told = Told(bar=BAR * shot.scale, reference=_measured(number) if measured else None)
    return read_photo(photo.data, told=told)


@pytest.mark.parametrize("number", range(len(VIEWS)))
def test_the_plane_of_the_card_is_found(number: int) -> None:
    """Every point of the card is placed to 0.1 mm, however the card lies, and the error is not hidden."""
    shot, photo = _view(number)
    kind = _card(number)
    found = find_card(load_picture(photo.data))
    assert found is not None
    assert found.card is kind
    assert len(found.markers) >= 5
    grid = np.stack(np.meshgrid(np.linspace(0, kind.width, 8), np.linspace(0, kind.height, 6)), -1).reshape(
        -1, 2
    )
    off = np.linalg.norm(found.place.to_mm(photo.to_px(grid * shot.scale)) - grid, axis=1)
    assert off.max() < 0.1
    assert found.place.error_mm(grid).max() < 0.1
    np.testing.assert_allclose(found.place.to_mm(found.place.to_px(grid)), grid, atol=1e-3)


@pytest.mark.parametrize("pixels", [(1640, 1230), (8160, 6120)], ids=["2 megapixels", "50 megapixels"])
def test_the_plane_is_found_at_every_size(pixels: tuple[int, int]) -> None:
    """The same view as a small telephone and as a very large one would save it: the card is placed to 0.1 mm."""
    shot, photo = _view(0)
    kind = _card(0)
    shown = Image.open(io.BytesIO(photo.data))
    out = io.BytesIO()
    shown.resize(pixels, Image.Resampling.BICUBIC).save(out, "JPEG", quality=92)
    picture = load_picture(out.getvalue())
    found = find_card(picture)
    assert found is not None
    corners = np.array([(0, 0), (kind.width, 0), (kind.width, kind.height), (0, kind.height)], float)
    seen = (photo.to_px(corners * shot.scale) + 0.5) * picture.shape[1] / shown.width - 0.5
    assert np.linalg.norm(found.place.to_mm(seen) - corners, axis=1).max() < 0.1


def test_density_and_colour_with_a_measured_card() -> None:
    """Steps and paper measured: over unlike cameras density within 0.03 and CIEDE2000 within 2 in the middle, all in 3 sd."""
    off, scores, seen = [], [], []
    for number in range(len(VIEWS)):
        photo, reading = _view(number)[1], _read(number, measured=True).reading
        assert reading.card
        assert reading.lab is not None
        off.append(reading.optical_density - photo.density)
        scores.append(off[-1] / reading.sd)
        seen.append(float(ciede2000(reading.lab, photo.lab)))
    assert np.median(np.abs(off)) < 0.03
    assert np.median(seen) < 2
    assert np.abs(scores).max() < 3


def test_density_with_a_card_that_nobody_measured() -> None:
    """Only printed: the error is larger, and so is what is said of it: most within 1.64 sd, the middle under 0.06."""
    off = np.array(
        [_read(n, measured=False).reading.optical_density - _view(n)[1].density for n in range(len(VIEWS))]
    )
    sd = np.array([_read(n, measured=False).reading.sd for n in range(len(VIEWS))])
    assert np.median(np.abs(off)) < 0.06
    assert (np.abs(off) < 1.645 * sd).mean() > 0.6
    assert sd.mean() > np.mean([_read(n, measured=True).reading.sd for n in range(len(VIEWS))])


@pytest.mark.parametrize("number", range(len(VIEWS)))
def test_widths_are_in_true_millimetres(number: int) -> None:
    """Strokes of known width are measured to 0.05 mm, the card printed up to 3 % too large or too small."""
    shot = _view(number)[0]
    reading = _read(number, measured=True).reading
    widths = [s.width_px * s.mm_per_px for s in reading.strokes]
    assert np.median(widths) == pytest.approx(shot.stroke, abs=0.05)


def test_an_unmeasured_bar_is_said_and_doubted() -> None:
    """Without the bar lengths carry the doubt of printing, and it is said; with it they do not."""
    photo = _view(1)[1]
    loose, tight = read_photo(photo.data).reading, _read(1, measured=False).reading
    assert loose.scale_sd > 3 * tight.scale_sd
    assert any("bar was not measured" in warning for warning in loose.warnings)
    assert not any("bar was not measured" in warning for warning in tight.warnings)


def test_the_flat_picture_is_what_the_overlay_is_drawn_on() -> None:
    """What was read with a card is drawn on the flat picture of the frame, at the size of its maps."""
    seen = _read(0, measured=True)
    drawn = overlay(seen.picture, seen.reading)
    assert drawn.shape[:2] == seen.reading.state.shape
    assert seen.reading.flat is seen.picture


def test_a_picture_without_a_card_is_read_as_before() -> None:
    """A plain picture has no card, and what is said of one is refused with the mend."""
    rng = np.random.default_rng(2)
    page = np.full((400, 600, 3), 220, np.uint8)
    for x in range(40, 560, 40):
        page[60:340, x : x + 9] = (70, 60, 55)
    noisy = np.clip(page + rng.normal(0, 2, page.shape), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(noisy).save(out, "PNG")
    assert not read_photo(out.getvalue()).reading.card
    with pytest.raises(PictureError) as caught:
        read_photo(out.getvalue(), told=Told(bar=98.0))
    assert "no card was found" in caught.value.what


def test_a_burnt_out_card_withholds_colour() -> None:
    """Where the card's paper is burnt out to white, lengths are given, Lab is not, and the mend is said."""
    kind = card("a6")
    shot = any_shot(
        77, pdf(kind), (kind.width, kind.height), kind.window, pixels=(1600, 1200), exposure=1.25,
        cast=(1.0, 1.0, 1.0), tilt=5.0, slope=0.0, vignette=0.0, shadow=0.0, tone="srgb", density=0.8,
    )  # fmt: skip
    reading = read_photo(photograph(shot).data, told=Told(bar=BAR * shot.scale)).reading
    assert reading.card
    assert reading.lab is None
    assert any("burnt out" in warning for warning in reading.warnings)
    assert reading.strokes[0].mm_per_px is not None


def test_what_lies_beside_the_card_is_read_where_the_frame_is_empty() -> None:
    """A strip beside the card is found and measured in millimetres, with more doubt about its light, and that is said."""
    kind = card("a6")
    beside = (kind.width + 6, 20.0, 82.0, 56.0)
    shot = any_shot(
        91, pdf(kind), (kind.width, kind.height), beside, pixels=(1900, 1425), fill=0.5, tilt=6.0, turn=0.0,
        strip_turn=2.0, tone="srgb", shadow=0.0, stroke=1.2, density=0.7, sharpen=0.0,
    )  # fmt: skip
    photo = photograph(shot)
    reading = read_photo(photo.data, told=Told(bar=BAR * shot.scale)).reading
    assert any("frame is empty" in warning for warning in reading.warnings)
    widths = [s.width_px * s.mm_per_px for s in reading.strokes]
    assert np.median(widths) == pytest.approx(shot.stroke, abs=0.1)
    assert (np.abs(reading.optical_density - photo.density) < 3 * reading.sd).all()


def test_a_frame_cut_out_and_laid_over_a_sheet_is_read_whole() -> None:
    """Where support fills the frame all of it is measured, up to the frame's own rim."""
    kind = card("a6")
    width, height = kind.window[2:]
    shot = any_shot(
        92, pdf(kind), (kind.width, kind.height), kind.window, pixels=(1900, 1425), tilt=10.0, scale=1.0,
        strip=(width + 1, height + 1), strip_turn=0.0, tone="contrast", shadow=0.0, stroke=1.0, density=0.6,
    )  # fmt: skip
    photo = photograph(shot)
    seen = read_photo(photo.data, told=Told(bar=BAR))
    assert seen.picture.valid.mean() > 0.95
    assert not any("frame is empty" in warning for warning in seen.reading.warnings)
    assert (np.abs(seen.reading.optical_density - photo.density) < 3 * seen.reading.sd).all()


def test_the_full_black_alone_tells_most() -> None:
    """With paper and full black measured, densities come nearer than unmeasured, and less doubt is said of them."""

    def black(number: int):
        shot, photo = _view(number)
        every = _measured(number)
        some = [i for i, name in enumerate(every.names) if name == "paper" or name.startswith("black")]
        told = Reference(names=tuple(every.names[i] for i in some), xyz=every.xyz[some], grid=None)
        return read_photo(photo.data, told=Told(bar=BAR * shot.scale, reference=told)).reading

    off, plain, sd, plain_sd = [], [], [], []
    for n in range(len(VIEWS)):
        reading, loose, truth = black(n), _read(n, measured=False).reading, _view(n)[1].density
        off.append(np.abs(reading.optical_density - truth))
        plain.append(np.abs(loose.optical_density - truth))
        sd.append(reading.sd)
        plain_sd.append(loose.sd)
        assert any("full black" in warning for warning in loose.warnings)
        assert not any("full black" in warning for warning in reading.warnings)
    assert np.median(off) < 0.03
    assert np.mean(off) < np.mean(plain)
    assert np.mean(sd) < 0.8 * np.mean(plain_sd)
