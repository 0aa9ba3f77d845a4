"""The same strokes followed from picture to picture."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from inkhorn.compare.same_strokes import follow
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import read_photo
from support.infrared_pairs import infrared_of
from support.rendered_pages import Page, render

FINAL = Page(height=420, width=640, seed=4, x_height=38, nib=8, density=(0.8, 0.8, 0.8))


def test_growing_density_is_followed_whatever_the_camera_did() -> None:
    """Pictures of a stroke at a third, two thirds and all of its depth, turned and scaled, must read so within 0.03."""
    photo = read_photo(render(FINAL).png())
    levels = (1 / 3, 2 / 3, 1.0)
    places = ({"turned_deg": 5.0}, {"scale": 0.85, "tilt": 0.04}, {"turned_deg": 180.0, "scale": 1.2})
    others = [
        load_picture(infrared_of(FINAL, level, blur=0.8, **place))
        for level, place in zip(levels, places, strict=True)
    ]
    found = follow(photo.picture, photo.maps, photo.reading, others)
    for level, one in zip(levels, found, strict=True):
        assert one is not None
        density, sd = one
        np.testing.assert_allclose(density, level * photo.reading.optical_density, atol=0.03)
        assert (sd < 0.03).all()


def test_strokes_of_another_sheet_are_not_followed() -> None:
    """A picture of other words must give nothing, and not stand in the way of the others."""
    photo = read_photo(render(FINAL).png())
    other = load_picture(render(attrs.evolve(FINAL, seed=9)).png())
    same = load_picture(render(FINAL).png())
    first, second = follow(photo.picture, photo.maps, photo.reading, [other, same])
    assert first is None
    assert second is not None
    assert second[0].mean() == pytest.approx(photo.reading.optical_density.mean(), abs=0.005)
