"""The kind of ink from two pictures of one page."""

from __future__ import annotations

import functools
from typing import Any

import attrs
import numpy as np
import pytest

from inkhorn.compare.infrared import ink_type
from inkhorn.compare.register import register
from inkhorn.errors import InkhornError, PictureError
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Photo, read_photo
from support.infrared_pairs import infrared_of
from support.rendered_pages import Page, render

PAGE = Page(height=460, width=720, seed=5, bare=0.1, thinned=0.1, x_height=38, nib=8)
PLACES: tuple[dict[str, Any], ...] = (
    {},
    {"scale": 0.7, "turned_deg": 7},
    {"scale": 1.5, "turned_deg": -4, "tilt": 0.05},
    {"turned_deg": 90, "tilt": -0.08},
    {"scale": 0.9, "turned_deg": 180, "blur": 1.8},
)


@functools.cache
def _photo() -> Photo:
    return read_photo(render(PAGE).png())


def _type(picture: bytes, band: float = 940) -> Any:
    photo = _photo()
    return ink_type(photo.picture, photo.maps, photo.reading, load_picture(picture), band_nm=band)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("left", [0.12, 0.78])
def test_index_is_read_wherever_the_other_camera_stood(place: dict[str, Any], left: float) -> None:
    """Scaled, turned, tilted and less sharp, the index must be that of the rendering within 0.06, and its kind named."""
    found = _type(infrared_of(PAGE, left, **place))
    assert found.index == pytest.approx(left, abs=0.06)
    assert abs(found.index - left) < 3 * found.index_sd
    likely = max(found.probability, key=found.probability.get)
    assert likely == ("iron-tannin" if left < 0.5 else "carbon")
    assert sum(found.probability.values()) == pytest.approx(1)
    turn = place.get("turned_deg", 0)
    assert np.cos(np.radians(found.placed.turned_deg - turn)) > 0.9998
    assert found.placed.scale == pytest.approx(place.get("scale", 1), rel=0.02)


def test_mixed_ink_lies_between() -> None:
    """An ink that keeps half must be called mixed before either pure kind."""
    found = _type(infrared_of(PAGE, 0.5, turned_deg=3))
    assert max(found.probability, key=found.probability.get) == "mixed"
    assert "percent of its darkness" in found.sentence


@pytest.mark.parametrize("seed", [6, 7])
@pytest.mark.parametrize("left", [0.12, 0.78])
def test_another_page_is_refused(seed: int, left: float) -> None:
    """A page of the same hand and pen with other words must be refused, in plain words."""
    with pytest.raises(PictureError, match="same page"):
        _type(infrared_of(attrs.evolve(PAGE, seed=seed), left))


def test_vanished_ink_is_refused_with_a_way_out() -> None:
    """Where nothing is left in the infrared there is nothing to lay over, and a shorter band must be advised."""
    with pytest.raises(PictureError) as caught:
        _type(infrared_of(PAGE, 0.0, noise=0.02))
    assert "shorter band" in str(caught.value.mend)


def test_mirrored_picture_is_refused() -> None:
    """A mirrored picture is of no page that a camera saw."""
    photo = _photo()
    red = np.ascontiguousarray(photo.picture.linear[..., 0])
    with pytest.raises(PictureError, match="same page"):
        register(red, np.ascontiguousarray(red[:, ::-1]))


def test_band_outside_the_camera_is_refused() -> None:
    """A band that no silicon camera sees must be refused by name."""
    with pytest.raises(InkhornError, match="near infrared"):
        _type(infrared_of(PAGE, 0.5), band=1500)


def test_registration_is_exact_to_a_tenth_of_a_pixel() -> None:
    """A picture shifted by whole pixels must be laid back to within a tenth of one."""
    photo = _photo()
    red = np.ascontiguousarray(photo.picture.linear[..., 0])
    shifted = np.ascontiguousarray(np.roll(red, (5, -8), axis=(0, 1)))
    placed = register(red, shifted)
    for at in ((200, 150), (500, 300)):
        x, y, w = placed.transform @ np.array([*at, 1.0])
        assert (x / w - at[0], y / w - at[1]) == pytest.approx((-8, 5), abs=0.1)


def test_same_pictures_give_the_same_answer() -> None:
    """Nothing in it may be left to chance."""
    picture = infrared_of(PAGE, 0.3, scale=0.9, turned_deg=5)
    assert _type(picture).to_dict() == _type(picture).to_dict()
