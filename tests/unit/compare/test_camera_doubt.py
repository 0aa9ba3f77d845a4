"""What a comparison puts down to a camera of unknown make."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.compare.sides import camera_doubt, camera_sd, from_reading, skin
from inkhorn.imaging.read import read_picture
from inkhorn.optics.camera import draw_cameras, photograph
from support.rendered_pages import Page, render

SKIN = np.array([80.0, 3.0, 18.0])


def test_the_doubt_of_a_skin_is_what_unknown_cameras_make_of_it() -> None:
    """Other cameras than those used inside must be off by as much, to a tenth."""
    cameras = draw_cameras(np.random.default_rng(99), 4000)
    off = linear_to_lab(photograph(lab_to_linear(SKIN), cameras)) - SKIN
    np.testing.assert_allclose(camera_sd(SKIN), np.sqrt((off**2).mean(axis=0)), rtol=0.1)


def test_deep_ink_is_doubted_more() -> None:
    """Tone and glare act on the depth: the doubt must grow with the density, and be small where it is."""
    bare = lab_to_linear(SKIN)
    faint, deep = (np.sqrt(np.diag(camera_doubt(np.full(3, d), bare))) for d in (0.1, 0.9))
    assert (faint < 0.02).all()
    assert (deep > 3 * faint).all()


def test_a_card_takes_the_doubt_away() -> None:
    """Only a picture without a card must carry the camera's error beside its own; its skin is trusted less."""
    reading = read_picture(render(Page(height=260, width=420, seed=4)).png())
    assert not reading.card
    bare, carded = from_reading(reading), from_reading(attrs.evolve(reading, card=True))
    np.testing.assert_allclose(carded.covariance, reading.covariance)
    assert (np.diag(bare.covariance) > np.diag(carded.covariance) + 1e-6).all()
    assert (bare.skin.sd > carded.skin.sd).all()


def test_what_a_picture_shows_counts_by_the_camera_sd() -> None:
    """The weight of a picture's colour must be that of two normals meeting: prior sd against camera sd."""
    seen = lab_to_linear(SKIN + np.array([6.0, 0, 0]))
    found = skin(prior=SKIN, prior_sd=camera_sd(SKIN), seen=seen)
    assert found.lab[0] == pytest.approx(SKIN[0] + 3, abs=1e-6)
