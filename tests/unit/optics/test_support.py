"""Spectra for supports of which only the colour is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.optics import observe, support

SUPPORTS = ["goat-parchment", "calf-parchment", "sheep-parchment", "rag-paper"]


@settings(max_examples=60, deadline=None)
@given(st.floats(55, 93), st.floats(-3, 8), st.floats(2, 28))
def test_exact_colour(lightness: float, a: float, b: float) -> None:
    """Whatever skin or paper, the spectrum must have its colour to 1e-6 and be a reflectance."""
    spectrum = support.reflectance([lightness, a, b])
    np.testing.assert_allclose(observe.lab(spectrum), [lightness, a, b], atol=1e-6)
    assert (spectrum > 0).all()
    assert (spectrum < 1).all()


@pytest.mark.parametrize("name", SUPPORTS)
def test_handbook_supports(name: str) -> None:
    """Each support of the handbook must have a spectrum that climbs without a wave from violet to red."""
    lab = [value(f"supports.{name}.{k}") for k in ("L", "a", "b")]
    spectrum = support.reflectance(lab)
    np.testing.assert_allclose(observe.lab(spectrum), lab, atol=1e-6)
    assert (np.diff(spectrum) > -0.01).all()
    assert np.abs(np.diff(spectrum, 2)).max() < 0.02


def test_old_parchment_is_in_the_usual_band() -> None:
    """Clean parchment's reflectance must lie where such skins do: .35-.65 at 400-450, .70-.88 at 600-730 nm.

    From memory (no open table of parchment spectra was found).
    """
    spectrum = support.reflectance([87.0, 0.8, 14.0])
    assert (spectrum[2:8] > 0.3).all()
    assert (spectrum[2:8] < 0.67).all()
    assert (spectrum[22:] > 0.7).all()
    assert (spectrum[22:] < 0.9).all()


def test_many_at_once() -> None:
    """Row k of many must be the spectrum of colour k, in any leading shape."""
    labs = np.random.default_rng(1).normal([85, 1, 14], [3, 1, 3], (2, 4, 3))
    many = support.reflectance(labs)
    assert many.shape == (2, 4, 36)
    np.testing.assert_allclose(many[1, 2], support.reflectance(labs[1, 2]), atol=1e-7)


def test_impossible_colour() -> None:
    """A colour brighter than white must be refused in words, or given the nearest if so asked."""
    with pytest.raises(InkhornError, match="no surface has the colour"):
        support.reflectance([120.0, 0, 0])
    nearest = support.reflectance([[120.0, 0, 0], [85, 1, 14]], strict=False)
    assert np.isfinite(nearest).all()
    np.testing.assert_allclose(observe.lab(nearest[1]), [85, 1, 14], atol=1e-6)
