"""A camera of unknown make: what it leaves alone, and what it does."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from inkhorn.handbook.load import row
from inkhorn.optics.camera import (
    NORMALS,
    Camera,
    channel_density_seen,
    density_spread,
    draw_cameras,
    photograph,
    tone,
)
from inkhorn.optics.observe import channel_density

BARE = np.array([0.65, 0.56, 0.40])
INK = BARE * 10 ** -np.array([0.82, 0.88, 0.86])


def test_a_plain_camera_changes_nothing() -> None:
    """A camera that does nothing must give back every light, of a patch and of a picture."""
    picture = np.random.default_rng(1).uniform(0, 1, (1, 4, 5, 3))
    assert np.array_equal(photograph(BARE, Camera.plain(3)), np.broadcast_to(BARE, (3, 3)))
    np.testing.assert_allclose(photograph(picture, Camera.plain(2))[1], picture[0], atol=1e-15)


def test_eight_bits_round_by_half_a_step_at_most() -> None:
    """With 255 levels only, no encoded value may move by more than half a level."""
    camera = attrs.evolve(Camera.plain(), levels=255)
    grey = np.repeat(np.linspace(0, 1, 500)[None, :, None], 3, axis=2)
    from inkhorn.colour.srgb import encode

    assert np.abs(encode(photograph(grey, camera)) - encode(grey)).max() <= 0.5 / 255 + 1e-12


def test_mixing_keeps_white_and_every_grey() -> None:
    """Rows of a drawn mixing must sum to 1: a grey stays the grey that it is."""
    camera = attrs.evolve(Camera.plain(50), mixing=draw_cameras(np.random.default_rng(2), 50).mixing)
    np.testing.assert_allclose(photograph(np.full(3, 0.3), camera), 0.3, rtol=1e-12)
    np.testing.assert_allclose(photograph(np.ones(3), camera), 1, rtol=1e-12)


def test_the_tone_curve_keeps_black_and_white() -> None:
    """Black and white must stay, and the slope in the middle be the contrast, in the deep the toe's too."""
    assert tone([0, 1], contrast=1.2, toe=-0.3, knee=0.02) == pytest.approx([0, 1], abs=1e-15)
    mid = np.log(tone([0.5, 0.6], contrast=1.2, toe=0.5, knee=1e-4))
    deep = np.log(tone([1e-8, 2e-8], contrast=1.2, toe=0.5, knee=1e-2))
    assert np.diff(mid)[0] / np.log(1.2) == pytest.approx(1.2, abs=1e-3)
    assert np.diff(deep)[0] / np.log(2) == pytest.approx(1.7, abs=1e-3)


def test_contrast_multiplies_a_density() -> None:
    """A contrast of 1.1 alone must make every density 1.1 times as deep: the definition of gamma."""
    camera = attrs.evolve(Camera.plain(), contrast=np.array([1.1]))
    assert channel_density_seen(INK, BARE, camera) == pytest.approx(
        1.1 * channel_density(INK, BARE)[None], rel=1e-9
    )


def test_glare_by_hand() -> None:
    """Two hundredths of glare on a density of 1: -log10(0.98 x 0.1 + 0.02) = 0.9281."""
    camera = attrs.evolve(Camera.plain(), glare=np.array([0.02]))
    assert channel_density_seen(0.1 * BARE, BARE, camera) == pytest.approx(0.92812, abs=1e-5)


def test_exposure_and_balance_cancel_in_a_density() -> None:
    """Gains that clip nothing must leave a channel density as it is."""
    camera = attrs.evolve(Camera.plain(), gain=np.array([[0.8, 1.1, 1.3]]))
    np.testing.assert_allclose(channel_density_seen(INK, BARE, camera)[0], channel_density(INK, BARE))


def test_what_burns_out_is_clipped() -> None:
    """Light above white must be recorded as white, and the density read too low."""
    camera = attrs.evolve(Camera.plain(), gain=np.full((1, 3), 2.0))
    assert photograph(BARE, camera).max() == 1
    assert (channel_density_seen(INK, BARE, camera)[0] < channel_density(INK, BARE) + 1e-12).all()
    assert channel_density_seen(INK, BARE, camera)[0, 0] < channel_density(INK, BARE)[0] - 0.1


def test_zeros_draw_the_usual_camera() -> None:
    """Standard normals of zero must give the rows' own values, and the same numbers the same cameras."""
    usual = draw_cameras(np.zeros((1, NORMALS)), 1)
    np.testing.assert_array_equal(usual.mixing[0], np.eye(3))
    assert usual.glare[0] == pytest.approx(row("camera.glare").value)
    one, two = (draw_cameras(np.random.default_rng(5), 4) for _ in range(2))
    np.testing.assert_array_equal(one.gain, two.gain)


def test_one_camera_among_many_is_itself() -> None:
    """What one camera records may not depend on those beside it."""
    camera = draw_cameras(np.random.default_rng(6), 5)
    alone = Camera(
        **{
            a.name: v[3:4] if isinstance(v := getattr(camera, a.name), np.ndarray) else v
            for a in attrs.fields(Camera)
        }
    )
    np.testing.assert_array_equal(
        channel_density_seen(INK, BARE, camera)[3:4], channel_density_seen(INK, BARE, alone)
    )


def test_the_band_is_what_the_draws_spread() -> None:
    """Shift and covariance must be mean and covariance of read minus true; doubt both together."""
    camera = draw_cameras(np.random.default_rng(7), 300)
    off = channel_density_seen(INK, BARE, camera) - channel_density(INK, BARE)
    found = density_spread(INK, BARE, camera)
    np.testing.assert_allclose(found.shift, off.mean(axis=0))
    np.testing.assert_allclose(found.doubt, off.T @ off / 300, rtol=1e-9)


def test_the_channels_of_one_camera_err_together() -> None:
    """Tone and glare act on all channels alike: a deep density errs more in depth than in hue."""
    found = density_spread(INK, BARE, draw_cameras(np.random.default_rng(8), 2000))
    sd = np.sqrt(np.diag(found.covariance))
    assert found.covariance[0, 1] / (sd[0] * sd[1]) > 0.8
