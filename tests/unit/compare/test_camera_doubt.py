"""What a comparison puts down to a camera of unknown make."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.compare.model import pair
from inkhorn.compare.sides import Coverage, Side, Skin, camera_sd, from_reading, skin
from inkhorn.imaging.read import read_picture
from inkhorn.optics.camera import channel_density_seen, density_doubt, draw_cameras, photograph
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
    faint, deep = (np.sqrt(np.diag(density_doubt(np.full(3, d), bare))) for d in (0.1, 0.9))
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


def _side(density: np.ndarray, covariance: np.ndarray) -> Side:
    ground = Skin(lab=SKIN, sd=np.full(3, 0.3))
    return Side(density=density, covariance=covariance, skin=ground, coverage=Coverage.whole())


def _lightness_shift(mine: Side, theirs: Side, *, draws: int, noise: bool = True) -> np.ndarray:
    one, two = pair(mine, theirs, draws=draws, noise=noise).ink_alone()
    return (one - two)[:, 0]


def test_the_band_holds_the_truth_of_two_pictures_by_two_cameras() -> None:
    """Of forty pairs of inks, each seen by two unknown cameras, the 90 % band must hold the true shift in lightness.

    Four in five at least; with the reading's own error alone, as the twin shows, less than half.
    """
    rng, bare = np.random.default_rng(77), lab_to_linear(SKIN)
    own = np.eye(3) * 0.012**2
    held = {True: 0, False: 0}
    for _ in range(40):
        mine = np.array([0.8, 0.85, 0.83]) * rng.uniform(0.5, 1.1)
        true = np.stack([mine, mine * rng.uniform(0.8, 1.2)])
        seen = channel_density_seen(bare * 10**-true, np.stack([bare, bare]), draw_cameras(rng, 2))
        shift = _lightness_shift(*(_side(d, own) for d in true), draws=1, noise=False)[0]
        for doubting in held:
            sides = (_side(d, own + (density_doubt(d, bare) if doubting else 0)) for d in seen)
            low, high = np.percentile(_lightness_shift(*sides, draws=128), (5, 95))
            held[doubting] += low <= shift <= high
    assert held[True] >= 32
    assert held[False] < 20
