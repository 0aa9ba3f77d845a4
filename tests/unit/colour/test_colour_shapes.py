"""Colour functions: inverses, shapes, awkward numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from inkhorn.colour import difference, lab, srgb, xyz

COLOURS = arrays(np.float64, (5, 3), elements=st.floats(-0.2, 1.2, allow_subnormal=False))


@given(COLOURS)
def test_srgb_round_trip(linear: np.ndarray) -> None:
    """Encoding then decoding must give the same light back, also outside the gamut."""
    np.testing.assert_allclose(srgb.decode(srgb.encode(linear)), linear, atol=1e-6)


@given(COLOURS)
def test_lab_round_trip(linear: np.ndarray) -> None:
    """Linear RGB to Lab and back must be the identity, also outside the gamut."""
    np.testing.assert_allclose(lab.lab_to_linear(lab.linear_to_lab(linear)), linear, atol=1e-9)


def test_bytes_agree_with_the_curve() -> None:
    """The 8-bit table must be the curve, and every byte must survive a round trip."""
    every = np.arange(256, dtype=np.uint8)
    np.testing.assert_allclose(srgb.decode_bytes(every), srgb.decode(every / 255), rtol=1e-6)
    assert (srgb.encode_bytes(srgb.decode_bytes(every)) == every).all()


def test_encode_bytes_clips() -> None:
    """Light beyond what a screen can show must be clipped, not wrapped."""
    assert srgb.encode_bytes([-0.5, 0, 1, 7]).tolist() == [0, 0, 255, 255]


@pytest.mark.parametrize("shape", [(3,), (1, 3), (4, 3), (2, 5, 3)])
def test_any_leading_shape(shape: tuple[int, ...]) -> None:
    """One colour, many or a picture must give the same numbers row by row."""
    values = np.random.default_rng(0).uniform(0, 1, shape)
    flat = values.reshape(-1, 3)
    for function in (lab.linear_to_lab, xyz.linear_to_xyz, xyz.xyz_to_linear, lab.lab_to_xyz):
        rows = np.array([function(v) for v in flat])
        np.testing.assert_allclose(function(values).reshape(-1, 3), rows, rtol=1e-12, atol=1e-13)


def test_difference_broadcasts() -> None:
    """One colour against many must give one difference each, 0 against itself."""
    many = np.random.default_rng(0).uniform(0, 50, (7, 3))
    out = difference.ciede2000(many[2], many)
    assert out.shape == (7,)
    assert out[2] == 0
    assert (out[[0, 1, 3, 4, 5, 6]] > 0).all()


def test_nan_stays_nan() -> None:
    """What is not a number must not turn into a colour."""
    assert np.isnan(lab.linear_to_lab([np.nan, 0.5, 0.5])).any()
    assert np.isnan(difference.ciede2000([np.nan, 0, 0], [50, 0, 0]))
