"""Re-inking, carrying to another skin, and the page."""

from __future__ import annotations

import io

import attrs
import cv2
import numpy as np
import pytest
from PIL import Image

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import linear_to_lab
from inkhorn.compare import compare as comparing
from inkhorn.compare.compose import PANEL, Panel, _apart, compose, difference_map, font, png, wrap
from inkhorn.compare.laid import lay_both, middle
from inkhorn.compare.photos import mended, sheet_of
from inkhorn.compare.picture import Curve, Sheet, carry, curve, reink
from inkhorn.compare.sides import from_numbers
from inkhorn.compare.window import best_window, framed, relative_scale
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.read import read_maps, read_picture
from inkhorn.optics import support
from support.rendered_pages import Page, render

SKIN = support.reflectance([80.0, 3, 18])
FILM = np.linspace(0.28, 0.4, 36)


def _curve(scale: float = 1.0) -> Curve:
    return curve(scale * FILM, SKIN, 0.03, 0.6)


def _sheet(film: np.ndarray, ink: Curve, *, blur: float = 0.0, noise: float = 0.0) -> Sheet:
    """Return a sheet whose ink is known: ``film`` of ``ink`` on an uneven skin."""
    rng = np.random.default_rng(0)
    grain = np.exp(noise * rng.normal(size=film.shape))[..., None]
    bare = np.array([0.6, 0.5, 0.36]) * np.linspace(0.9, 1.1, film.shape[1])[None, :, None]
    ratio = ink.at(film)
    if blur:
        ratio = cv2.GaussianBlur(ratio, (0, 0), blur)
    strokes = ratio.mean(axis=2) < 0.85
    return Sheet(
        linear=(bare * grain * ratio).astype(np.float32),
        support=np.broadcast_to(bare, (*film.shape, 3)).astype(np.float32),
        strokes=strokes,
        worn=strokes & (film < 0.8),
        blur_px=max(blur, 0.3),
        stroke_px=30,
    )


def _bars() -> np.ndarray:
    film = np.zeros((120, 200))
    film[20:50, 20:180] = 1
    film[70:100, 20:100] = 1
    film[70:100, 100:180] = 0.4
    return film


def test_own_ink_changes_nothing() -> None:
    """A page re-inked with its own ink, worn as it is, must come back as it was."""
    sheet = _sheet(_bars(), _curve(), blur=1.0, noise=0.02)
    np.testing.assert_allclose(reink(sheet, _curve(), _curve()), sheet.linear, rtol=1e-5)


def test_bare_skin_is_untouched() -> None:
    """Away from the strokes not one pixel may change, whatever the ink."""
    sheet = _sheet(_bars(), _curve(), blur=1.0, noise=0.02)
    for worn in (True, False):
        out = reink(sheet, _curve(), _curve(0.3), worn=worn, whole=0.8)
        np.testing.assert_allclose(out[:12], sheet.linear[:12], rtol=1e-6)


@pytest.mark.parametrize("scale", [0.4, 1.6])
def test_flat_strokes_get_the_other_ink_exactly(scale: float) -> None:
    """Inside whole and thinned strokes the new ink must stand at the same film, light and grain kept."""
    sheet, other = _sheet(_bars(), _curve()), _curve(scale)
    expected = sheet.support * other.at(_bars())
    out = reink(sheet, _curve(), other)
    for window in (np.s_[26:44, 30:170], np.s_[76:94, 30:90], np.s_[76:94, 112:170]):
        np.testing.assert_allclose(out[window], expected[window], rtol=0.01)


def test_blurred_rims_follow() -> None:
    """A blurred picture re-inked must be the blurred picture of the other ink, rims included."""
    film, other = _bars(), _curve(0.5)
    out = reink(_sheet(film, _curve(), blur=1.5), _curve(), other)
    truth = _sheet(film, other, blur=1.5).linear
    apart = ciede2000(linear_to_lab(out), linear_to_lab(truth))
    assert np.median(apart[5:115]) < 0.5
    assert np.quantile(apart, 0.99) < 6


def test_without_wear_the_gaps_are_filled() -> None:
    """Filled, a thinned stroke must be as dark as a whole one, and a whole one unchanged."""
    sheet = _sheet(_bars(), _curve(), blur=1.0)
    out = reink(sheet, _curve(), _curve(), worn=False, whole=0.8)
    whole = sheet.support * _curve().whole()
    np.testing.assert_allclose(out[76:94, 112:170], whole[76:94, 112:170], rtol=0.02)
    np.testing.assert_allclose(out[26:44, 30:170], sheet.linear[26:44, 30:170], rtol=1e-4)


def test_carried_line_stands_on_the_other_skin() -> None:
    """Carried to another skin, bare parts must have its colour and strokes the ink's colour there."""
    dark = support.reflectance([70.0, 5, 25])
    there = curve(FILM, dark, 0.03, 0.6)
    bare = np.array([0.5, 0.4, 0.25])
    out = carry(_sheet(_bars(), _curve()), _curve(), there, bare)
    np.testing.assert_allclose(out[:12], np.broadcast_to(bare, out[:12].shape), rtol=1e-5)
    np.testing.assert_allclose(
        out[26:44, 30:170], np.broadcast_to(bare * there.whole(), (18, 140, 3)), rtol=0.01
    )


class TestAgainstAnotherRenderer:
    """Pages drawn by the test's own renderer (Beer's law, no surface): same hand, same wear, other ink."""

    def test_reinked_page_is_the_page_written_in_the_other_ink(self) -> None:
        """The re-inked page must look like the same page rendered in the other ink, median below 1.5.

        The renderer knows no surface reflection, so the two disagree a little by nature; the
        distance before re-inking must be far larger.
        """
        one = Page(
            height=420,
            width=560,
            density=(0.9, 0.95, 0.85),
            bare=0.1,
            thinned=0.25,
            seed=5,
            nib=11,
            x_height=52,
        )
        two = attrs.evolve(one, density=(0.45, 0.42, 0.3))
        picture = load_picture(render(one).png())
        reading, maps = read_picture(picture), read_maps(picture)
        goal = load_picture(render(two).png()).linear
        sheet = sheet_of(picture, maps, reading)
        lab = linear_to_lab(reading.support_rgb)
        mine, theirs = lay_both(
            middle(from_numbers(two.density, 0.01, lab=lab)),
            middle(from_numbers(reading.optical_density, 0.01, lab=lab)),
            k1=0.04,
            k2=0.6,
        )
        own, other = (curve(f.film[0], theirs.support[0], float(f.gleam[0]), 0.6) for f in (theirs, mine))
        ink = render(one).stroke > 0.9
        before = np.median(ciede2000(linear_to_lab(picture.linear), linear_to_lab(goal))[ink])
        after = np.median(ciede2000(linear_to_lab(reink(sheet, own, other)), linear_to_lab(goal))[ink])
        assert before > 8
        assert after < 1.5


def test_page_is_a_picture_with_everything_on_it() -> None:
    """A comparison of mere numbers must still give a page: PNG, readable captions, six panels."""
    trial, original = from_numbers([0.6, 0.6, 0.4], 0.03), from_numbers([0.95, 1.0, 0.9], 0.03)
    found = comparing.compare(trial, original, draws=16, note="Invented numbers.")
    page = Image.open(io.BytesIO(found.page))
    assert page.size[0] == 2 * PANEL[1] + 100
    assert len(found.panels) == 6
    assert all(panel.picture.shape == (*PANEL, 3) for panel in found.panels)
    assert all(font(32).getlength(panel.caption) <= PANEL[1] for panel in found.panels)
    assert found.to_dict()["sentence"] == found.sentence
    assert "ink is" in found.sentence


def test_bar_is_in_proportion() -> None:
    """The solid part of the bar must be the ink's share of it."""
    grey = np.full((*PANEL, 3), 200, dtype=np.uint8)
    page = np.asarray(
        compose(
            "x", [Panel(picture=grey, caption="a")], {"wear": 0.5, "skin": 0.25, "ink": 0.25, "pen": -0.1}
        )
    )
    dark = (page < 60).all(axis=2).sum(axis=1)
    assert dark[np.r_[0 : len(dark)]].max() <= page.shape[1]
    middle = np.flatnonzero(dark > 200)
    across = np.median(dark[middle])
    assert across == pytest.approx((2 * PANEL[1] + 28) * 0.25, rel=0.1)


def test_words_under_the_bar_never_touch() -> None:
    """However small the last shares are, their words must stay on the page and apart."""
    starts = _apart([400, 960, 985, 997], [80, 120, 60, 50], 36, 1000)
    ends = np.array(starts) + np.array([80, 120, 60, 50])
    assert (np.array(starts[1:]) > ends[:-1]).all()
    assert ends[-1] <= 1000
    assert starts[0] == 360


def test_map_is_white_where_nothing_differs() -> None:
    """The map must be the page's white without a difference and black at its top."""
    difference = np.zeros((300, 100))
    difference[:100] = 20
    out = difference_map(difference, 20)
    assert (out[:100] < 40).all()
    assert (out[100:200] > 240).all()


def test_map_grows_darker_with_the_difference() -> None:
    """A greater difference must never be lighter, in the map or on its scale, and greys have no hue to confuse."""
    rising = np.tile(np.linspace(0, 20, PANEL[1]), (PANEL[0], 1))
    out = difference_map(rising, 20).astype(int)
    assert (np.diff(out[10, :, 1]) <= 0).all()
    scale = out[PANEL[0] - 50, 4:-4]
    assert (np.diff(scale[:, 1]) <= 0).all()
    assert scale[0, 1] > 230
    assert scale[-1, 1] < 40
    assert np.ptp(out, axis=2).max() <= 4


def test_picture_says_that_it_is_srgb() -> None:
    """A saved picture must carry the sRGB chunk of the PNG standard (ISO/IEC 15948) before its pixels."""
    file = png(Image.new("RGB", (4, 4), (10, 20, 30)))
    assert file.index(b"sRGB") < file.index(b"IDAT")
    assert file[file.index(b"sRGB") + 4] == 0


def test_flakes_are_mended_and_wide_gaps_are_not() -> None:
    """A hole of a third of a stroke must be filled when wear is taken off; one of a whole stroke must stay."""
    strokes = np.zeros((60, 120), dtype=bool)
    strokes[20:40, 5:115] = True
    strokes[27:33, 30:36] = False
    strokes[20:40, 70:90] = False
    whole = mended(strokes, 20)
    assert whole[27:33, 30:36].all()
    assert not whole[22:38, 76:84].any()
    assert (whole >= strokes).all()


def test_wrapping_never_loses_a_word() -> None:
    """However narrow, every word must be on some line."""
    text = "Of the difference you see about half is wear"
    assert " ".join(wrap(text, font(30), 200)).split() == text.split()
    assert wrap("", font(30), 200) == []


def test_window_goes_where_the_writing_is() -> None:
    """The window must be the one with the most strokes in it, padded with skin where the sheet is small."""
    film = np.zeros((300, 400))
    film[200:260, 300:380] = 1
    sheet = _sheet(film, _curve())
    shown = best_window(sheet, 100, 120)
    assert shown.strokes.sum() == sheet.strokes.sum()
    small = best_window(sheet, 500, 900)
    assert small.linear.shape == (500, 900, 3)
    assert small.strokes.sum() == sheet.strokes.sum()
    assert framed(sheet, PANEL, 2.0).linear.shape == (*PANEL, 3)


def test_scale_by_millimetres_or_by_stroke() -> None:
    """Two sheets must stand at one scale: by millimetres if both know them, else by stroke width."""
    sheet = _sheet(_bars(), _curve())
    wide = attrs.evolve(sheet, stroke_px=60)
    assert relative_scale(sheet, wide) == 2
    one, two = attrs.evolve(sheet, mm_per_px=0.05), attrs.evolve(wide, mm_per_px=0.1)
    assert relative_scale(one, two) == 0.5
