"""What must not change when a photograph is taken otherwise: exposure, turn, size, margin."""

from __future__ import annotations

import functools

import attrs
import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkhorn.imaging.load import load_picture
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.read import read_picture
from inkhorn.imaging.reading import PhotoReading
from support.rendered_pages import Page, render

PAGE = Page(height=420, width=640, nib=9, hairline=5, x_height=42, bare=0.1, thinned=0.12, blur=0.9, seed=77)


@functools.cache
def _picture() -> Picture:
    return load_picture(render(PAGE).png())


@functools.cache
def _plain() -> PhotoReading:
    return read_picture(_picture())


def _read(linear: np.ndarray) -> PhotoReading:
    valid = np.ones(linear.shape[:2], bool)
    return read_picture(attrs.evolve(_picture(), linear=linear.astype(np.float32), codes=None, valid=valid))


def _same(reading: PhotoReading, *, density: float, wear: float, coverage: float) -> None:
    plain = _plain()
    np.testing.assert_allclose(reading.optical_density, plain.optical_density, atol=density)
    assert reading.wear.intact == pytest.approx(plain.wear.intact, abs=wear)
    assert reading.coverage == pytest.approx(plain.coverage, rel=coverage)


@settings(max_examples=6, deadline=None)
@given(st.tuples(*[st.floats(0.15, 1.2)] * 3))
def test_exposure_and_white_balance_cancel(factors: tuple[float, float, float]) -> None:
    """Any factor on each channel leaves densities, wear and coverage as they were."""
    _same(_read(_picture().linear * np.array(factors)), density=0.003, wear=0.02, coverage=0.01)


@settings(max_examples=4, deadline=None)
@given(st.floats(0.4, 1.0), st.sampled_from([0, 1]))
def test_a_lamp_that_falls_off_cancels(least: float, axis: int) -> None:
    """Light that falls off across the page changes the densities by less than their own error."""
    linear = _picture().linear
    fall = np.linspace(1, least, linear.shape[axis])
    lit = linear * (fall[:, None, None] if axis == 0 else fall[None, :, None])
    _same(_read(lit), density=0.015, wear=0.05, coverage=0.03)


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_quarter_turn_changes_next_to_nothing(turns: int) -> None:
    """A page on its side reads as upright."""
    _same(_read(np.rot90(_picture().linear, turns).copy()), density=0.01, wear=0.04, coverage=0.02)


def test_a_mirrored_page_reads_the_same() -> None:
    """Left and right are alike."""
    _same(_read(_picture().linear[:, ::-1].copy()), density=0.01, wear=0.04, coverage=0.03)


@pytest.mark.parametrize("by", [2, 3])
def test_a_closer_photograph_reads_the_same(by: int) -> None:
    """The same page with two or three times the pixels reads the same, and its strokes are as many times wider."""
    linear = _picture().linear
    large = cv2.resize(linear, None, fx=by, fy=by, interpolation=cv2.INTER_CUBIC)
    reading = _read(np.clip(large, 1e-4, None))
    _same(reading, density=0.03, wear=0.06, coverage=0.06)
    ours, plain = ([stroke.width_px for stroke in r.strokes] for r in (reading, _plain()))
    assert np.median(ours) / np.median(plain) == pytest.approx(by, rel=0.1)


@pytest.mark.parametrize("margin", [60, 200])
def test_bare_margin_adds_nothing(margin: int) -> None:
    """More bare skin round the writing leaves density and wear, and thins the coverage by the area added."""
    rng = np.random.default_rng(3)
    linear = _picture().linear
    height, width = linear.shape[:2]
    bare = np.median(linear.reshape(-1, 3), axis=0)
    wide = bare * rng.normal(1, 0.01, (height + 2 * margin, width + 2 * margin, 1))
    wide = cv2.GaussianBlur(wide.astype(np.float32), (0, 0), 0.9)
    wide[margin:-margin, margin:-margin] = linear
    reading = _read(wide)
    share = height * width / (wide.shape[0] * wide.shape[1])
    np.testing.assert_allclose(reading.optical_density, _plain().optical_density, atol=0.015)
    assert reading.wear.intact == pytest.approx(_plain().wear.intact, abs=0.05)
    assert reading.coverage == pytest.approx(_plain().coverage * share, rel=0.04)


@pytest.mark.parametrize("by", [2, 3, 5])
def test_averaging_down_keeps_the_mean_light(by: int) -> None:
    """A reduced picture has the mean of the linear light, by whole numbers exactly, whatever it is made from."""
    picture = _picture()
    rows, columns = picture.shape[0] // by * by, picture.shape[1] // by * by
    blocks = picture.linear[:rows, :columns].reshape(rows // by, by, columns // by, by, 3).mean(axis=(1, 3))
    np.testing.assert_allclose(picture.reduced(by).linear, blocks, atol=3e-5)
    assert picture.reduced(by).reduction == pytest.approx(by)
